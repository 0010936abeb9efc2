// Maps of hands.
#include "fuzz/text.hpp"
#include "live/hand_rig.hpp"
#include "store/map_store.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  using fuzz::demand;
  const auto read = store::read_map({reinterpret_cast<const char*>(data), size}, "a.map.json");
  if (!read) return fuzz::demand_words(read.problem()), 0;
  const auto findings = live::validate(*read, *live::hand_rig(), "a.map.json");
  fuzz::demand_words(findings);
  fuzz::demand_words(live::unmet(*read, *live::hand_show(), "a.map.json"));
  // A NaN is written, but compares with nothing: what is written twice is the same text.
  const std::string text = store::write_map(*read);
  const auto again = store::read_map(text, "b.map.json");
  demand(bool(again), "a map that was read can be written and read");
  demand(store::write_map(*again) == text, "and is the same");
  if (show::has_errors(findings)) return 0;
  std::vector<std::string> addresses;
  live::know_addresses(*read, addresses);
  const auto program = live::compile(*read, live::hand_rig(), live::hand_show(), {}, addresses);
  live::HandState state;
  load(state, program.get());
  std::uint16_t n = 0;
  for (const auto kind : {live::Touch::Kind::osc, live::Touch::Kind::slot, live::Touch::Kind::axis, live::Touch::Kind::button})
    for (n = 0; n < 32; ++n) hear(*program, state, {.kind = kind, .number = n, .value = 0.7f});
  for (std::uint8_t k = 0; k < 128; ++k) hear(*program, state, live::controller(k, 90)), hear(*program, state, live::note(k, 100));
  for (int tick = 0; tick < 3; ++tick) {
    double control[] = {0, 0.2, 0.1, 0};
    play(*program, state, 0.01, control);
    for (std::size_t c = 0; c < 4; ++c) demand(control[c] >= program->min[c] - 1e-9 && control[c] <= program->max[c] + 1e-9, "hands stay within a control's range");
  }
  return 0;
}
