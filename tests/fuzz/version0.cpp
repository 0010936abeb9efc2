// Files of version 0 and what becomes of them.
#include "fuzz/text.hpp"
#include "show/validate.hpp"
#include "store/document.hpp"

namespace mien {
namespace {

using fuzz::demand;

void show_of(std::string_view text) {
  static const show::Rig rig = fuzz::sample_rig("tests/samples/version0.rig.json");
  const auto read = store::read_show(text, "old.show.json");
  if (!read) return fuzz::demand_words(read.problem());
  fuzz::demand_words(show::validate(read->content, rig, "old.show.json"));
  const auto again = store::read_show(store::write_document(read->content), "new.show.json");
  demand(again && show::same(read->content, again->content), "an old show is the same one after it was written as a new one");
  demand(again->notes.empty(), "and then is up to date");
}

void rig_of(std::string_view text) {
  const auto read = store::read_rig(text, "old.rig.json");
  if (!read) return fuzz::demand_words(read.problem());
  fuzz::demand_words(show::validate(read->content, "old.rig.json"));
  const auto again = store::read_rig(store::write_document(read->content), "new.rig.json");
  demand(again && read->content == again->content, "an old rig is the same one after it was written as a new one");
  demand(again->notes.empty(), "and then is up to date");
}

}  // namespace
}  // namespace mien

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  mien::store::says_rig(text) ? mien::rig_of(text) : mien::show_of(text);
  return 0;
}
