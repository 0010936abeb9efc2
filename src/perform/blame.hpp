// Which key asked for a move: of an actuator's channels the one that moved it most, and in it the key that the move leads to.
// Inside src/perform.
#pragma once
#include <memory>
#include <vector>

#include "perform/plan.hpp"
#include "perform/tick.hpp"

namespace mien::perform {

class Blame {
 public:
  explicit Blame(const Plan& plan);

  struct Asked {
    int control = -1;
    int layer = -1;         ///< of the show: where it was none of its own keys but a layer
    std::size_t key = 0;    ///< index in the channel's keys, where control is not -1
    double from_deg = 0;    ///< target at the key before,
    double to_deg = 0;      ///< and at the key; both within travel
    bool past = false;      ///< the move was over at the key, and the setpoint ran past it
  };
  /// For a stretch that begins at `begin`, has its worst at `worst`, and in which the target first lies on the side `sign` of the setpoint.
  Asked late(int actuator, show::Time begin, show::Time worst, double sign);
  /// For a target beyond an end of travel at `worst`, up (sign > 0) or down.
  Asked clipped(int actuator, show::Time worst, double sign);

  struct Influence { int control; double weight; };
  /// Controls that move an actuator, with RigMap::Influence::deg_per_unit as weight.
  const std::vector<Influence>& on(int actuator) const noexcept { return influences_[static_cast<std::size_t>(actuator)]; }
  /// Target within travel, any time in any order.
  double target(int actuator, show::Time t) noexcept;

 private:
  double value(int control, show::Time t) const noexcept;
  int mover_before(int actuator, show::Time begin, show::Time worst) const noexcept;
  int mover(int actuator, show::Time from, show::Time to) const noexcept;
  Asked by_layer(int actuator, show::Time from, show::Time to) noexcept;
  double mixed(int control, show::Time t) noexcept;
  bool moves(int actuator, const std::vector<show::Keyframe>& keys, std::size_t into) noexcept;

  const Plan& plan_;
  std::vector<std::vector<Influence>> influences_;
  std::unique_ptr<Head> head_;  // made only once something is asked
  Tick tick_;
};

}  // namespace mien::perform
