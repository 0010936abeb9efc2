// Keyframes as CSV.
#include "fuzz/text.hpp"
#include "show/validate.hpp"
#include "store/csv.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  using fuzz::demand;
  static const show::Rig rig = fuzz::sample_rig("tests/samples/small.rig.json");
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto read = store::import_keys(text, rig, "keys.csv");
  if (!read) return fuzz::demand_words(read.problem()), 0;
  fuzz::demand_words(show::validate(*read, rig, "keys.csv"));
  const auto again = store::import_keys(store::export_keys(*read), rig, "again.csv");
  demand(bool(again), "what was imported is exported so that it can be imported");
  demand(show::same(*read, *again), "and is the same");
  return 0;
}
