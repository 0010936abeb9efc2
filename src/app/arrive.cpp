// mien arrive: a show that asks for more than the head can do, changed as little as it takes.
#include <cstdio>

#include "app/commands.hpp"
#include "app/interrupt.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "perform/arrive.hpp"
#include "perform/rig_check.hpp"
#include "store/store.hpp"

namespace mien::app {

int run_arrive(const ArriveWords& words) {
  const store::Stamp read = store::stamp_of(words.show);
  auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  const auto refused = perform::refusal(*loaded->rig, store::rig_path(words.show, *loaded->show).string(), loaded->notes);
  tell(loaded->notes);
  if (refused) return tell(*refused);
  const auto plan = perform::compile(loaded->rig, loaded->show);
  auto arrival = perform::make_it_arrive(plan, perform::study(*plan), {}, [](double) { return !interrupted(); });
  if (arrival.stopped) return tell({show::Severity::error, words.show, "", "stopped before it was done; nothing was written", "Run it again."});
  move_references(arrival.show, words.show, words.out);
  if (const auto changed = changed_meanwhile(words.show, read, words.out)) return tell(*changed);
  if (const auto problem = store::save_show(words.out, arrival.show)) return tell(*problem);

  if (words.json) {
    Json json;
    json.open_object().member("file", words.out).open_array("changes");
    for (const auto& change : arrival.changes)
      json.open_object().member("channel", plan->rig->controls[static_cast<std::size_t>(change.control)].name).member("key_s", show::to_seconds(change.key))
          .member("remedy", perform::name(change.remedy)).member("amount", change.amount).member("what", perform::to_text(*plan, change)).close();
    json.close().open_array("findings");
    for (const auto& s : arrival.study.shortfalls) append(json, *plan, s, words.out);
    std::printf("%s\n", json.close().close().text().c_str());
  } else {
    for (const auto& change : arrival.changes) std::printf("%s\n", perform::to_text(*plan, change).c_str());
    for (const auto& s : arrival.study.shortfalls) std::printf("%s\n", show::to_text(perform::finding_of(*plan, s, words.out)).c_str());
    std::printf("%s: %zu changes, %zu findings left\n", words.out.c_str(), arrival.changes.size(), arrival.study.shortfalls.size());
  }
  return arrival.study.shortfalls.empty() ? kFine : kFindings;
}

}  // namespace mien::app
