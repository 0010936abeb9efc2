// What the mouth looks like for each phone: phones to visemes by the MPEG-4 table (ISO/IEC 14496-2, FBA visemes 0..14), visemes to
// poses of a rig's controls. A rig may have a table file of its own beside it, NAME.visemes.txt.
//
// The file, line by line ('#' begins a comment):
//   mien visemes 1
//   phone AY 10@0.3 12@0.85          the visemes of a phone, each with where in the phone it is reached (0..1; alone: 0.5)
//   viseme 1 alpha 1 before 0.02 after 0.02 power 1 : lip_close 0.6! jaw_open 0.05!
// Dominance as in speech/dominance.hpp (per ms); values in the controls' own units; '!' marks what is never blended away. A control that
// some viseme names and this one doesn't is free: neighbours decide. Phones that the file leaves out have the standard's visemes.
#pragma once
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "speech/dominance.hpp"
#include "speech/phones.hpp"

namespace mien::speech {

inline constexpr int kVisemes = 15;  ///< 0 none, then the fourteen of the standard

struct Target {
  std::string control;
  double value = 0;
  bool held = false;  ///< never blended away
  friend bool operator==(const Target&, const Target&) = default;
};

struct Viseme {
  Dominance dominance;
  std::vector<Target> targets;
  friend bool operator==(const Viseme&, const Viseme&) = default;
};

struct PhonePart {
  int viseme = 0;
  double at = 0.5;  ///< share of the phone's length
  friend bool operator==(const PhonePart&, const PhonePart&) = default;
};

struct VisemeTable {
  std::array<Viseme, kVisemes> visemes;
  std::array<std::vector<PhonePart>, kPhones.size()> phones;  ///< as kPhones; empty: the phone (HH) takes the shape of what is around it
  friend bool operator==(const VisemeTable&, const VisemeTable&) = default;
};

/// The standard's assignment of phones, with the diphthongs and glides of English in their parts; no poses.
VisemeTable standard_phones();

/// Findings name the line.
show::Result<VisemeTable> parse_visemes(std::string_view text, const std::string& file = {});
std::string write_visemes(const VisemeTable& table);

/// Unknown controls and values outside of their range, as errors; no pose that meets the lips, as a warning.
show::Findings check_visemes(const VisemeTable& table, const show::Rig& rig, const std::string& file = {});

/// A table for any rig, by the roles of its mouth: which of its controls opens the jaw, widens, rounds, closes, tucks, lifts and drops the
/// lips. Nothing where it has no role of a mouth.
std::optional<VisemeTable> general_visemes(const show::Rig& rig);

/// Names of all controls that the table moves, in order of appearance.
std::vector<std::string> controls_of(const VisemeTable& table);

}  // namespace mien::speech
