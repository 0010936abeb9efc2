// A rig's file; and where it is fine, the head that it describes performs within its limits.
#include "fuzz/text.hpp"
#include "perform/rig_check.hpp"
#include "perform/tick.hpp"
#include "show/validate.hpp"
#include "store/document.hpp"

namespace mien {
namespace {

using fuzz::demand;

/// A show that takes every control from end to end and back.
show::ShowPtr exercise(const show::Rig& rig) {
  auto show = std::make_shared<show::Show>();
  show->length = std::chrono::seconds(1);
  for (const auto& control : rig.controls) {
    auto channel = std::make_shared<show::Channel>();
    channel->control = control.name;
    using std::chrono::milliseconds;
    channel->keys = {{milliseconds(0), control.rest}, {milliseconds(50), control.max, show::kHold}, {milliseconds(150), control.min}, {milliseconds(200), control.max}};
    show->channels.push_back(std::move(channel));
  }
  return show;
}

void perform_it(const std::shared_ptr<const show::Rig>& rig) {
  const auto plan = perform::compile(rig, exercise(*rig));
  auto head = std::make_unique<perform::Head>();
  perform::stand_at(*head, *plan, show::Time{0});
  perform::Tick tick;
  for (int n = 0; n < 30; ++n) {
    perform::tick(*plan, *head, n * plan->tick, 1, tick);
    for (int a = 0; a < plan->actuators(); ++a) {
      const auto& actuator = rig->actuators[static_cast<std::size_t>(a)];
      const double at = tick.setpoint_deg[static_cast<std::size_t>(a)];
      demand(at >= actuator.min_deg - 1e-9 && at <= actuator.max_deg + 1e-9, "no setpoint leaves an actuator's travel");
      const auto pulse = perform::pulse_of(*plan, a, at);
      demand(pulse >= 400 * 16 && pulse <= 2600 * 16, "a pulse is one that servos take");
    }
  }
}

}  // namespace
}  // namespace mien

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto read = store::read_rig(text, "fuzzed.rig.json");
  if (!read) return fuzz::demand_words(read.problem()), 0;
  const auto again = store::read_rig(store::write_document(read->content), "again.rig.json");
  demand(bool(again), "what was read is written so that it can be read");
  demand(read->content == again->content, "and is the same");
  const auto findings = show::validate(read->content, "fuzzed.rig.json");
  fuzz::demand_words(findings);
  if (show::has_errors(findings)) return 0;
  const auto geometry = perform::check_rig(read->content, "fuzzed.rig.json");
  fuzz::demand_words(geometry);
  if (!show::has_errors(geometry)) perform_it(std::make_shared<const show::Rig>(read->content));
  return 0;
}
