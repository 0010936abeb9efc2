// A show made ready for boards that perform with no host: what the limiter lets through, tick by tick, in the bytes of board/BAKED.md.
#pragma once
#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "perform/plan.hpp"
#include "show/finding.hpp"

namespace mien::perform {

struct BakeSettings {
  /// Starts when the levels of the inputs, as far as start_mask names them, become start_value; mask 0: at power-on.
  std::uint16_t start_mask = 0, start_value = 0;
  bool loop = false;                   ///< again after its end: at once and in the show's loop, where there is neither pause nor idle life
  show::Range pause;                   ///< between performances, drawn anew each time; both ends belong to it
  show::Range gap{std::chrono::seconds(2), std::chrono::seconds(7)};  ///< between two clips of idle life, likewise
  bool apart = false;                  ///< every board starts by itself; else board 0 starts and leads the others
};

/// The pulses of every tick, by actuator.
using Pulses = std::array<std::uint16_t, show::kMaxActuators>;
/// What every auxiliary is told, by the rig's index.
using Values = std::array<std::uint8_t, show::kMaxAuxiliaries>;
struct Track {
  std::vector<Pulses> ticks;
  std::vector<Values> values;   ///< one for each tick
  std::uint32_t loop_from = 0;  ///< where it goes on after its end, where it loops at once
};

struct BakedBoard {
  std::string name;
  int address = 0;
  int actuators = 0;
  std::vector<std::uint8_t> image;
};

struct Bake {
  std::vector<BakedBoard> boards;  ///< every board of the rig, in rising address
  std::int64_t ticks = 0;          ///< of all tracks together
  double seconds = 0;
  int actuators = 0;
  show::Findings notes;
  std::size_t bytes() const noexcept;
  double bytes_per_actuator_second() const noexcept;
};

/// The show as render() gives it, tick for tick. Where anything but itself follows it, it then returns to its first pose, and clips of idle
/// life begin and end there, all within the limits. Idle shows hold the controls that they have no channel for where the show begins.
/// Precondition: all plans are of one rig that check_rig() has no error for, and there are at most board::kMaxTracks - 1 idle shows.
show::Result<Bake> bake(const Plan& show, const std::vector<PlanPtr>& idle, const BakeSettings& settings);

/// The pulses and values of the show, and of one of its idle shows: what bake() puts into bytes.
Track show_track(const Plan& show, const BakeSettings& settings, bool idle, show::Findings& notes);
Track idle_track(const Plan& show, const Plan& idle, show::Findings& notes);

}  // namespace mien::perform
