// What a servo is, as its data sheet and a maker's bench have it. What it does with setpoints is computed in motion/servo.hpp.
#pragma once
#include <string>

namespace mien::show {

/// All at the horn and at voltage_v; a servo on another voltage is taken to be faster, stronger and hungrier in proportion, as direct-current
/// motors are. The figures given here are common practice for a 9 g micro servo at 5 V: 0.12 s per 60 degrees and 50..200 mA running free are
/// what makers print; the rest are usual magnitudes.
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
  double voltage_v = 5;
  friend bool operator==(const ServoFigures&, const ServoFigures&) = default;
};

/// A model of servo, bought more than once. Of its figures the skin is left out: that is the actuator's.
struct ServoKind {
  std::string name;
  ServoFigures figures;
  friend bool operator==(const ServoKind&, const ServoKind&) = default;
};

}  // namespace mien::show
