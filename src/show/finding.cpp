#include "show/finding.hpp"

#include <algorithm>

namespace mien::show {
namespace {

const char* word(Severity severity) noexcept {
  switch (severity) {
    case Severity::note: return "note";
    case Severity::warning: return "warning";
    case Severity::error: break;
  }
  return "error";
}

bool ends_a_sentence(const std::string& text) noexcept {
  return !text.empty() && (text.back() == '.' || text.back() == '?' || text.back() == '!');
}

}  // namespace

std::string to_text(const Finding& finding) {
  std::string text = word(finding.severity);
  for (const std::string* part : {&finding.file, &finding.place, &finding.what}) {
    if (!part->empty()) text += ": " + *part;
  }
  if (!finding.cure.empty()) text += (ends_a_sentence(text) ? " " : ". ") + finding.cure;
  if (!ends_a_sentence(text)) text += ".";
  return text;
}

bool has_errors(const Findings& findings) noexcept {
  return std::any_of(findings.begin(), findings.end(), [](const Finding& f) { return f.severity == Severity::error; });
}

}  // namespace mien::show
