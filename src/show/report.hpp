// How the validate() functions gather what they find. Inside src/show only.
#pragma once
#include <algorithm>
#include <cmath>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"
#include "show/text.hpp"

namespace mien::show {

inline std::string quoted(const std::string& name) { return "'" + name + "'"; }

// Nothing on a head comes near; beyond it products of such numbers would leave what a double can hold with care.
inline constexpr double kBeyondReason = 1e6;

/// "Did you mean ...?" or, where nothing is known, how to make the thing.
inline std::string cure_for_unknown(const std::string& name, std::span<const std::string> known,
                                    const std::string& where_none) {
  const std::string hint = suggestion(name, known);
  return hint.empty() ? where_none : hint;
}

class Report {
 public:
  explicit Report(const std::string& file) : file_(file) {}

  void error(std::string place, std::string what, std::string cure) { add(Severity::error, place, what, cure); }
  void warning(std::string place, std::string what, std::string cure) { add(Severity::warning, place, what, cure); }
  /// True where the number may be computed with. Anything that is not finite or is beyond reason is said here, and only here.
  bool usable(const std::string& place, double value) {
    if (std::isfinite(value) && std::abs(value) <= kBeyondReason) return true;
    error(place, "is " + number_text(value), "Give a number between -1000000 and 1000000.");
    return false;
  }
  /// Says where there is no `kind` of that name.
  void must_be_known(const std::vector<std::string>& all, const std::string& kind, const std::string& name, const std::string& place,
             const std::string& where_none) {
    if (std::find(all.begin(), all.end(), name) == all.end())
      error(place, "there is no " + kind + " " + quoted(name), cure_for_unknown(name, all, where_none));
  }
  Findings take() && { return std::move(findings_); }

 private:
  void add(Severity severity, std::string& place, std::string& what, std::string& cure) {
    findings_.push_back({severity, file_, std::move(place), std::move(what), std::move(cure)});
  }
  std::string file_;
  Findings findings_;
};


/// "actuator 'jaw'", or "actuator 3 (counted from 1)" for one that can't be told by its name.
inline std::string titled(const std::string& kind, const std::string& name, std::size_t index) {
  return name.empty() ? kind + " " + std::to_string(index + 1) + " (counted from 1)" : kind + " " + quoted(name);
}

inline std::string counted(std::size_t count, const std::string& one, const std::string& many) {
  return std::to_string(count) + " " + (count == 1 ? one : many);
}

template <class Part>
std::vector<std::string> names_of(const std::vector<Part>& parts) {
  std::vector<std::string> names;
  names.reserve(parts.size());
  for (const Part& part : parts) names.push_back(part.name);
  return names;
}

inline bool has_control_character(const std::string& text) noexcept {
  return std::any_of(text.begin(), text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; });
}

/// What the two halves of a rig's check share: names of a kind are there, are names, and are told apart.
void check_names(Report& report, const std::string& kind, const std::vector<std::string>& all, const std::string& owner);

/// The rig's servos and what feeds them (validate_power.cpp).
void validate_power(const Rig& rig, Report& report);

/// How boards are told apart and what stands on their lines: identities, pulse timing, states, auxiliaries (validate_lines.cpp).
void validate_lines(const Rig& rig, Report& report);

/// What the rig's inputs look for in a show (validate_inputs.cpp).
void validate_inputs(const Show& show, const Rig& rig, Report& report);

/// The show's cues (validate_cues.cpp).
void validate_cues(const Show& show, const Rig& rig, Report& report);

/// The rig's gaze, mappings and constraints; the other half of validate() (validate_mapping.cpp).
void validate_mapping(const Rig& rig, Report& report);

}  // namespace mien::show
