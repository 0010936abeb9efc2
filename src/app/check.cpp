// mien check: what is wrong with a show or a rig, where, and what to do.
#include <cstdio>

#include "app/commands.hpp"
#include "app/text.hpp"
#include "perform/rig_check.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

int check(const std::string& file, bool as_json) {
  auto [readable, findings, show, rig] = store::check_file(file);
  if (rig) {
    const auto geometry = perform::check_rig(*rig, show ? store::rig_path(file, *show).string() : file);
    findings.insert(findings.end(), geometry.begin(), geometry.end());
  }
  int errors = 0, warnings = 0;
  for (const auto& f : findings) (f.severity == show::Severity::error ? errors : warnings) += f.severity != show::Severity::note;
  if (as_json) {
    Json json;
    json.open_object().member("file", file).member("errors", double(errors)).member("warnings", double(warnings)).open_array("findings");
    for (const auto& f : findings) append(json, f);
    std::printf("%s\n", json.close().close().text().c_str());
  } else {
    for (const auto& f : findings) std::printf("%s\n", show::to_text(f).c_str());
    if (findings.empty()) std::printf("%s: nothing to report\n", file.c_str());
  }
  return !readable ? kUnusable : errors || warnings ? kFindings : kFine;
}

}  // namespace

int run_check(const CheckWords& words) { return check(words.file, words.json); }

}  // namespace mien::app
