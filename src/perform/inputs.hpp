// What boards' inputs start: from the levels that boards report to what the stage is to do. Knows no stage and no clock.
#pragma once
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "link/session.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::perform {

/// Finds the moments at which inputs come to the level that counts. Call look() often: a contact that closes and opens between two calls
/// is not seen.
class InputWatch {
 public:
  /// Looks at this rig's inputs from now on; what was seen of another rig's is forgotten.
  void set_rig(std::shared_ptr<const show::Rig> rig);

  /// The indices (in Rig::inputs) of the inputs that act now, in the order of the rig: those whose line stands at the level that counts
  /// for as long as they ask, and stood at the other one before. A board that was not heard for a while (switched off, replaced) is
  /// looked at as for the first time: its levels then are where things start. `now_ns` is of the steady clock and never runs backward.
  std::vector<int> look(const link::Status& link, std::int64_t now_ns);

 private:
  struct Line {
    bool known = false, level = false, settled = false;
    std::int64_t since_ns = 0;
  };
  std::shared_ptr<const show::Rig> rig_;
  std::vector<Line> lines_;  // by input
};

/// What the stage is to do for an input.
struct Order {
  enum class Do : std::uint8_t { nothing, play, stop, play_from, set_state, start_cue } what = Do::nothing;
  show::Time from{0};      ///< play_from
  int auxiliary = 0;       ///< set_state: the rig's index
  std::uint8_t value = 0;  ///< set_state: what the auxiliary is told
  int cue = 0;             ///< start_cue: the show's index
};

/// nothing for a show that plays already (PlayShow), for a marker that the show has not, and for names that the rig has not. Of markers
/// of one name the first counts.
Order order_of(const show::Input& input, const show::Rig& rig, const show::Show& show, bool playing);

/// "plays from marker 'hello'", for people.
std::string to_text(const show::InputAction& action);

}  // namespace mien::perform
