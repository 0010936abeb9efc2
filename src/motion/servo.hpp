// A hobby servo as built: where it is, how fast, and what it draws while it follows setpoints. For the preview's ghost, for the
// estimate of where the head is, and for the supply. An estimate: what counts in the end is the ammeter.
//
// Model. A motor behind a gear gives torque = stall * (drive - speed / no-load speed), the torque-speed line; the controller's drive
// is proportional to the position error outside a dead band and saturates at +-1; driver and winding keep the torque within +-stall.
// Against it stand dry friction, and the skin as a spring about rest. The supply gives idle current, plus the motor's, which is
// proportional to torque, times the drive (a chopper passes current on in that share); what braking gives back is burnt, not fed
// back. Backward Euler in steps of at most two milliseconds: stable for any figures, and dry friction needs no smoothing.
// Friction is on top of stall torque and no-load speed, as those are measured at the horn.
#pragma once
#include "show/rig.hpp"

namespace mien::motion {

using show::ServoFigures;

/// Of an actuator: its kind's, with its load, at the voltage of its rail where that is given. Names that are not in the rig count as none.
ServoFigures figures_of(const show::Rig& rig, const show::Actuator& actuator);

/// A value: copy it to look ahead.
struct ServoState {
  double position_deg = 0;
  double velocity_deg_s = 0;
  double current_a = 0;  ///< mean over the last tick; idle <= current <= stall
  double energy_j = 0;   ///< drawn from the supply so far; never falls
};

class Servo {
 public:
  /// Precondition: figures that validate() passes (show/validate.hpp), tick_s > 0.
  Servo(const ServoFigures& figures, double rest_deg, double tick_s) noexcept;
  /// One tick toward a setpoint, which the servo sees as a step. NaN: no pulses, the motor is off and draws idle current.
  void follow(ServoState& state, double setpoint_deg) const noexcept;

 private:
  struct Step {  // what holds at its start; radians
    bool driven;
    double error, from_rest, v;
  };
  struct Forces {
    double drive = 0, share = 0;  // share of the stall torque that the motor gives
    double balance = 0, rate = 1;
  };
  Forces forces(const Step& step, double v) const noexcept;
  double next_speed(const Step& step, Forces& at_it) const noexcept;

  double rest_rad_, step_s_;
  int steps_;
  double inertia_by_s_, torque_n_m_, per_no_load_s_, friction_n_m_, skin_n_m_, drive_per_rad_, dead_rad_;
  double idle_a_, motor_a_, tick_j_per_a_;
};

}  // namespace mien::motion
