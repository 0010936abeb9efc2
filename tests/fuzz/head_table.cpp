// A head's servos as a table, and its servos' data sheet: the first line is the sheet, the rest the table.
#include "fuzz/text.hpp"
#include "show/suggest.hpp"
#include "show/validate.hpp"
#include "store/head_table.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  using fuzz::demand;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto end = text.find('\n');
  const auto sheet = show::parse_servo_sheet(text.substr(0, end), "table.csv", "sheet");
  if (!sheet) fuzz::demand_words(sheet.problem());
  auto table = store::read_head_table(end == std::string_view::npos ? std::string_view{} : text.substr(end + 1), "table.csv");
  if (!table) return fuzz::demand_words(table.problem()), 0;
  fuzz::demand_words(table->notes);
  const auto made = show::suggest_rig({"head", 1, 16, sheet ? *sheet : show::ServoSheet{}, std::move(table->rows)}, "table.csv");
  fuzz::demand_words(made.notes);
  const auto findings = show::validate(made.rig, "head.rig.json");
  fuzz::demand_words(findings);
  for (const auto& f : findings)
    demand(f.severity != show::Severity::error || show::has_errors(made.notes) || f.what.find("control character") != std::string::npos, show::to_text(f).c_str());
  return 0;
}
