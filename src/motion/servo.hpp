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
#include "show/finding.hpp"

namespace mien::motion {

/// Common practice for a 9 g micro servo at 5 V: 0.12 s per 60 degrees and 50..200 mA running free are what makers print; the rest
/// are usual magnitudes. All are at the horn.
struct ServoFigures {
  double no_load_deg_s = 500;
  double stall_torque_n_m = 0.16;
  double stall_current_a = 0.7;
  double idle_current_a = 0.008;
  double friction_n_m = 0.02;
  double skin_n_m_per_deg = 0;      ///< stiffness of the skin about rest
  double inertia_kg_m2 = 2e-4;      ///< load, and rotor times the gear's ratio squared
  double full_drive_error_deg = 8;  ///< error beyond the dead band that drives at full
  double dead_band_deg = 0.4;       ///< half width
  double supply_v = 5;
};

/// A value: copy it to look ahead.
struct ServoState {
  double position_deg = 0;
  double velocity_deg_s = 0;
  double current_a = 0;  ///< mean over the last tick; idle <= current <= stall
  double energy_j = 0;   ///< drawn from the supply so far; never falls
};

class Servo {
 public:
  /// Precondition: check(figures) is empty, tick_s > 0.
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

/// Figures that are no numbers or negative, zero where the model divides, stall below idle. Places are left empty.
show::Findings check(const ServoFigures& figures);

}  // namespace mien::motion
