// The measures of a linkage between servo and skin, as a maker takes them: axis to axis, in millimetres; angles in degrees. What they make
// of a servo's angle is computed in motion/linkage.hpp.
#pragma once

namespace mien::show {

/// A servo horn that pushes a slide (a jaw rod, a lip wire) by a rod. The slide runs along x, offset_mm beside the servo's axis; the
/// horn's angle t is counted from x. x(t) = r cos t + sqrt(l^2 - (r sin t - e)^2).
struct SliderCrank {
  double horn_mm = 10;          ///< r
  double rod_mm = 40;           ///< l
  double offset_mm = 0;         ///< e
  bool behind = false;          ///< the slide is on the other side: the root is subtracted
  double horn_at_zero_deg = 0;  ///< t where the servo's angle is 0; t grows with the servo's angle
  friend bool operator==(const SliderCrank&, const SliderCrank&) = default;
};

/// A crank a (the servo's horn) turns a rocker c by a coupler b, their axes d apart, angles counted from the line from the crank's
/// axis to the rocker's. Open and crossed are the two ways to assemble it.
struct FourBar {
  double crank_mm = 20;          ///< a
  double coupler_mm = 50;        ///< b
  double rocker_mm = 25;         ///< c
  double ground_mm = 55;         ///< d
  bool crossed = false;
  double crank_at_zero_deg = 0;  ///< the crank's angle where the servo's is 0; it grows with the servo's
  friend bool operator==(const FourBar&, const FourBar&) = default;
};

/// Two servos that share two motions: first = p * pitch + r * roll, second = p * pitch - r * roll. Exact for gears, near enough for rods on
/// short throws (brows, lids).
struct Differential {
  double pitch_gain = 1, roll_gain = 1;
  friend bool operator==(const Differential&, const Differential&) = default;
};

/// A plate on a joint (a neck, a jaw), tilted by two rods that two servos' horns push. Seen from the joint, the rods take hold of it half_span to either
/// side and arm behind; where it is level the horns are too, and the rods stand upright on their tips. The servos' axes lie across, so
/// that horns swing forward and back. It rolls, then pitches (motion/plate.hpp). Positive pitch lowers both rods; positive roll raises the
/// first actuator's: for a neck_roll, which is positive toward the left shoulder, that at the head's right.
struct TwoRodPlate {
  double half_span_mm = 30;
  double arm_mm = 40;  ///< below zero: the rods stand before the joint, and positive pitch raises them
  double horn_mm = 20;
  double rod_mm = 60;
  bool horns_ahead = false;     ///< the tips are before the servos' axes, where the rods stand upright; else behind
  double horn_at_zero_deg = 0;  ///< how far the horn stands above level where the servo's angle is 0; both grow as its tip rises
  friend bool operator==(const TwoRodPlate&, const TwoRodPlate&) = default;
};

}  // namespace mien::show
