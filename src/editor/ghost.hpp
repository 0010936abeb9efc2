// Where the head is rather than where it is told to be: a simulated servo (motion/servo.hpp) for each actuator follows the setpoints that the
// stage reports. Runs on the window's thread, a few microseconds a tick.
#pragma once
#include <memory>
#include <vector>

#include "motion/servo.hpp"
#include "perform/performer.hpp"

namespace mien::editor {

class Ghost {
 public:
  /// Forgets where it was; it stands on the setpoints of the next report.
  void set_rig(std::shared_ptr<const show::Rig> rig);
  /// Once for each report, in turn. What happened between two of them is taken as even. Where show time jumped, or too much time went by to
  /// be made up for, servos stand on their setpoints anew.
  void follow(const perform::Report& report);
  /// Where the servos stand; empty before the first report.
  const std::vector<double>& position_deg() const noexcept { return position_deg_; }

 private:
  void stand(const perform::Report& report);
  bool jumped(const perform::Report& report, std::int64_t ticks) const noexcept;

  std::shared_ptr<const show::Rig> rig_;
  std::vector<motion::Servo> servos_;
  std::vector<motion::ServoState> states_;
  std::vector<double> setpoint_deg_, position_deg_;
  show::Time time_{0};
  std::uint64_t ticks_ = 0;
  bool standing_ = false;
};

}  // namespace mien::editor
