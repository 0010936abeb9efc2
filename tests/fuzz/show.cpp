// A show's file.
#include "fuzz/text.hpp"
#include "show/validate.hpp"
#include "store/document.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  using fuzz::demand;
  static const show::Rig rig = fuzz::sample_rig("tests/samples/small.rig.json");
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto read = store::read_show(text, "fuzzed.show.json");
  if (!read) return fuzz::demand_words(read.problem()), 0;
  fuzz::demand_words(show::validate(read->content, rig, "fuzzed.show.json"));
  const auto again = store::read_show(store::write_document(read->content), "again.show.json");
  demand(bool(again), "what was read is written so that it can be read");
  demand(show::same(read->content, again->content), "and is the same");
  return 0;
}
