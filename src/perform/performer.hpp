// The performing thread: ticks against absolute deadlines, from the newest published plan, and tells the link and the window what
// it did. Every call here is for the window's (or the command line's) one thread and returns at once.
#pragma once
#include <array>
#include <cstdint>
#include <memory>
#include <string_view>

#include "link/session.hpp"
#include "perform/cue_side.hpp"
#include "perform/hands_side.hpp"
#include "perform/lateness.hpp"
#include "perform/plan.hpp"
#include "perform/tick.hpp"
#include "show/roles.hpp"
#include "sound/player.hpp"

namespace mien::perform {

enum class Mode : std::uint8_t { rehearse /* not armed: screen only */, creep /* first move after arming */, live };

/// What happened on the newest tick.
struct Report {
  show::Time time{0};
  std::int64_t at_ns = 0;      ///< steady: when it is that time
  bool playing = false;
  Mode mode = Mode::rehearse;
  bool sound_is_clock = false;
  int actuators = 0;
  std::array<double, show::kMaxActuators> target_deg{}, setpoint_deg{}, velocity_deg_s{};
  int controls = 0;
  std::array<double, show::kMaxControls> control{};
  std::uint32_t sequence = 0;  ///< of the newest frame
  int governed = 0;            ///< rails that are governed, in the order of the rig
  std::array<RailNow, kMostGoverned> rail{};  ///< the share as a person can read it: falls at once, rises slowly
  Lateness lateness;
  show::FacePose face;         ///< from the setpoints
  HandsNow hands;
  live::Followed followed;     ///< the machine whose time is followed
  CuesNow cues;
  int auxiliaries = 0;
  std::array<std::uint8_t, show::kMaxAuxiliaries> auxiliary{};  ///< what they are told, by the rig's index
  std::uint64_t obeyed = 0;    ///< how many of the calls below (play ... set_loop) are in effect
};

class Performer {
 public:
  /// None is owned; all may be nullptr and must outlive the performer.
  Performer(link::Session* session, sound::Player* player, live::Inlet* inlet = nullptr);
  ~Performer();
  Performer(const Performer&) = delete;
  Performer& operator=(const Performer&) = delete;

  /// The newest snapshot, compiled. Setpoints go on from where they are, by actuator name.
  void publish(PlanPtr plan);

  void play();   ///< from where the show stands; from the beginning (of the loop, where one is set) where it stands at the end
  void pause();
  void stop();   ///< pause and go back to the beginning (of the loop, where one is set)
  void seek(show::Time time);
  void scrub(show::Time time);  ///< seek, and let the sound under the playhead be heard
  void set_loop(show::Range loop);  ///< empty: none; play() from beyond it starts at its beginning

  /// Tells an auxiliary (the rig's index) this value instead of the show's, until the show is started or stopped, or the rig is another.
  void set_state(int auxiliary, std::uint8_t value);

  /// Another machine's time code or clock, from the inlet's devices, leads the show from now on: it says when the show plays and where; play(), seek() and the loop do nothing
  /// meanwhile. Source::none: nobody does, and the show stands. Sound is started with the show and brought back to it where it is more than 45 ms off.
  void follow(const live::FollowSettings& settings);

  void panic();                     ///< hands give everything back to the show, fading
  void give(int group, bool on);    ///< a group of the rig to the hands, or take it from them, fading; a new rig gives all
  void record(bool on);             ///< while the show plays, what hands do is put on the tape
  /// The next tick on the tape; false where there is none now. Take them more often than every 5 s: it holds no more.
  bool take(live::TakeTick& tick) noexcept;

  // Any thread; for whoever starts cues from outside. False where the published show has no cue of that name. A cue that is asked for while it runs or pauses, or
  // where a stronger one is in its way, is not heard. What became of it is in Report::cues, and for other threads in cue_phase().
  bool start_cue(std::string_view name);
  bool release_cue(std::string_view name);
  void start_cue(int cue) noexcept;    ///< by its place in Show::cues
  void release_cue(int cue) noexcept;
  CuePhase cue_phase(int cue) const noexcept;

  void release_cues();                 ///< all of them
  void set_cues_live(bool live);       ///< whether idle life goes on while the show stands, and cues heed the time of day
  void set_day(std::int64_t day_ns);   ///< local time of day now, in ns since midnight; call it every minute or so

  /// The newest report; valid until the next call.
  const Report& latest();

 private:
  struct Core;
  std::unique_ptr<Core> core_;
};

}  // namespace mien::perform
