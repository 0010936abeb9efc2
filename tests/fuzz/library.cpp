// Libraries of poses and clips.
#include "fuzz/text.hpp"
#include "store/document.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  using fuzz::demand;
  const auto read = store::read_library({reinterpret_cast<const char*>(data), size}, "a.clips.json");
  if (!read) return fuzz::demand_words(read.problem()), 0;
  fuzz::demand_words(read->notes);
  const std::string text = store::write_document(read->content);
  const auto again = store::read_library(text, "b.clips.json");
  demand(bool(again), "a library that was read can be written and read");
  demand(store::write_document(again->content) == text, "and is the same");
  return 0;
}
