// How the two validate() functions gather what they find. Inside src/show only.
#pragma once
#include <cmath>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "show/finding.hpp"
#include "show/text.hpp"

namespace mien::show {

class Report {
 public:
  explicit Report(const std::string& file) : file_(file) {}

  void error(std::string place, std::string what, std::string cure) { add(Severity::error, place, what, cure); }
  void warning(std::string place, std::string what, std::string cure) { add(Severity::warning, place, what, cure); }
  Findings take() && { return std::move(findings_); }

 private:
  void add(Severity severity, std::string& place, std::string& what, std::string& cure) {
    findings_.push_back({severity, file_, std::move(place), std::move(what), std::move(cure)});
  }
  std::string file_;
  Findings findings_;
};

inline std::string quoted(const std::string& name) { return "'" + name + "'"; }

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

/// "Did you mean ...?" or, where nothing is known, how to make the thing.
inline std::string cure_for_unknown(const std::string& name, std::span<const std::string> known,
                                    const std::string& where_none) {
  const std::string hint = suggestion(name, known);
  return hint.empty() ? where_none : hint;
}

}  // namespace mien::show
