// mien describe on whatever loads: tables, CSV, JSON and the wiring sheet.
#include "app/commands.hpp"
#include "app/wiring.hpp"
#include "fuzz/text.hpp"

namespace mien::app {

int tell(const show::Finding& finding) {
  fuzz::demand_words(finding);
  return finding.severity == show::Severity::error ? kUnusable : kFine;
}
int tell(const show::Findings& findings) {
  fuzz::demand_words(findings);
  return kFine;
}

}  // namespace mien::app

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  const auto file = fuzz::file_with(data, size, ".rig.json");
  const auto loaded = store::load_rig(file);
  if (!loaded) return fuzz::demand_words(loaded.problem()), 0;
  app::DescribeWords words;
  words.rig = file;
  for (int how = 0; how < 12; ++how) {
    words.csv = how % 3 == 1, words.json = how % 3 == 2;
    words.controls = how / 3 == 1, words.auxiliaries = how / 3 == 2, words.inputs = how / 3 == 3;
    fuzz::demand(app::run_describe(words) == app::kFine, "what loads is described");
  }
  const std::string sheet = app::wiring_sheet(*loaded->rig);
  fuzz::demand(sheet.find("<script") == std::string::npos && sheet.find("<img") == std::string::npos, "names are text on the sheet, never markup");
  return 0;
}
