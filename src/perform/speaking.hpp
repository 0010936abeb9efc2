// A head that speaks: what it can do with its mouth, and whether lips met when they had to.
#pragma once
#include <vector>

#include "perform/plan.hpp"
#include "speech/alignment.hpp"
#include "speech/delivery.hpp"
#include "speech/mouth.hpp"
#include "speech/visemes.hpp"

namespace mien::perform {

/// What the limiter leaves to each control that the table moves while all of them move at once, for speech::mouth_of(). A servo's limits are
/// shared among its controls by how far each can turn it. Controls that the rig has not are left out.
std::vector<speech::Ability> abilities_of(const show::Rig& rig, const speech::VisemeTable& table);

/// What of the rig speaks along with the mouth, found by the roles of its axes as idle life is (perform/idle.hpp), with half of what its servos can do.
speech::Face face_to_speak(const show::Rig& rig);

/// A line of the show: its alignment, and where in the show the sound's beginning lies (before 0 where it is trimmed).
struct SpokenLine {
  speech::Alignment alignment;
  show::Time start{0};
};

/// A closure that setpoints miss, or a mouth that moves while nobody speaks.
struct SpokenFault {
  enum class Kind : std::uint8_t { closure, silence } kind = Kind::closure;
  show::Range range;     ///< show time: the phone, or the stretch in which the mouth moves
  std::string phone;     ///< of a closure
  std::string word;      ///< in which it is
  double open_deg = 0;   ///< the servo that is furthest from it; in silence: that moves most
};

struct Spoken {
  std::vector<SpokenFault> faults;  ///< in rising time
  int closures = 0, held = 0;       ///< phones whose viseme holds something, and those that were held in time
};

/// Performs the show once, each line in its place. A closure counts as held where on some tick from kNoticedLate_ms before the phone to kNoticedEarly_ms after
/// its beginning (ITU-R BT.1359-1, perform/sync.hpp) no servo of jaw and lips stands more than the rig's tolerance further open than it would with
/// all that the viseme holds. A mouth moves in silence where one of jaw and lips turns by more than kSilentMove_deg further than kSilenceMargin_s from every word.
inline constexpr double kSilentMove_deg = 8, kSilenceMargin_s = 0.4;
Spoken spoken(const Plan& plan, const std::vector<SpokenLine>& lines, const speech::VisemeTable& table);

show::Finding finding_of(const SpokenFault& fault, const std::string& file = {});

}  // namespace mien::perform
