// What a person's own folders hold: settings, keys, recent shows, and the work that a crash left.
#include "fuzz/text.hpp"
#include "store/recovery.hpp"
#include "store/settings.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  using fuzz::demand;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto read = store::parse_settings(text, "settings");
  fuzz::demand_words(read.notes);
  const auto again = store::parse_settings(store::settings_text(read.settings), "settings");
  demand(again.notes.empty() && again.settings == read.settings, "settings come back as they were written");
  for (const auto& e : store::read_entries(text, "keys").entries) demand(!e.name.empty() && e.line > 0, "an entry has a name and a line");

  store::Left left;
  left.recovery = fuzz::file_with(data, size, ".recovery");
  const auto work = store::read_left(left);
  if (!work) fuzz::demand_words(work.problem());
  else demand(work->show != nullptr, "what is read holds a show");
  return 0;
}
