// What is wrong, where, and what to do next: the one shape in which every folder tells a person about a problem.
#pragma once
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace mien::show {

enum class Severity { note, warning, error };

struct Finding {
  Severity severity = Severity::error;
  std::string file;   ///< the file or port it is about; may be empty where there is none
  std::string place;  ///< where inside it, in the maker's words: "actuator lip_upper_left, output"
  std::string what;   ///< what happened or is wrong: one sentence, no full stop needed
  std::string cure;   ///< what to do next: one sentence
  friend bool operator==(const Finding&, const Finding&) = default;
};

using Findings = std::vector<Finding>;

/// "error: FILE: PLACE: WHAT. CURE." with the parts that are empty left out.
std::string to_text(const Finding& finding);
bool has_errors(const Findings& findings) noexcept;

/// A value, or the finding that says why there is none.
template <class T>
class Result {
 public:
  Result(T value) : value_(std::move(value)) {}
  Result(Finding problem) : problem_(std::move(problem)) {}
  explicit operator bool() const noexcept { return value_.has_value(); }
  /// Precondition for the next four: the result holds a value.
  T& operator*() & { return *value_; }
  const T& operator*() const& { return *value_; }
  T&& operator*() && { return std::move(*value_); }
  T* operator->() { return &*value_; }
  const T* operator->() const { return &*value_; }
  /// Meaningful only where the result holds no value.
  const Finding& problem() const noexcept { return problem_; }

 private:
  std::optional<T> value_;
  Finding problem_;
};

}  // namespace mien::show
