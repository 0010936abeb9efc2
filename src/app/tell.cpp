// What went wrong, said on the terminal, and the exit code that follows from it.
#include <algorithm>
#include <cstdio>

#include "app/commands.hpp"

namespace mien::app {

int tell(const show::Finding& finding) {
  std::fprintf(stderr, "%s\n", show::to_text(finding).c_str());
  return finding.severity == show::Severity::error ? kUnusable : finding.severity == show::Severity::warning ? kFindings : kFine;
}

int tell(const show::Findings& findings) {
  int worst = kFine;
  for (const auto& finding : findings) worst = std::max(worst, tell(finding));
  return worst;
}

}  // namespace mien::app
