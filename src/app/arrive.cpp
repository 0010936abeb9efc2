// mien arrive: a show that asks for more than the head can do, changed as little as it takes.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <optional>

#include "app/commands.hpp"
#include "app/interrupt.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "perform/arrive.hpp"
#include "perform/rig_check.hpp"
#include "perform/rig_map.hpp"
#include "show/text.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

// The finding of a channel at a time: of those that last then, the one whose key is nearest, and of its servos the latest.
show::Result<std::size_t> finding_at(const ArriveWords& words, const perform::Plan& plan, const perform::Study& found) {
  const auto at = time_of(words.at, "--at");
  if (!at) return at.problem();
  const int control = perform::control_index(*plan.rig, words.channel);
  if (control < 0) return refused(words.show, "", "there is no channel '" + words.channel + "'", "See the channels that `mien check` names.");
  std::optional<std::size_t> best, nearest;
  const auto off = [&](std::size_t n) { return std::abs((found.shortfalls[n].key - *at).count()); };
  for (std::size_t n = 0; n < found.shortfalls.size(); ++n) {
    const perform::Shortfall& s = found.shortfalls[n];
    if (s.control != control || s.cause == perform::Cause::out_of_sync) continue;
    if (!nearest || off(n) < off(*nearest)) nearest = n;
    const bool then = *at >= std::min(s.key, s.range.begin) && *at <= std::max(s.key, s.range.end);
    if (then && (!best || off(n) < off(*best) || (off(n) == off(*best) && s.late_ms > found.shortfalls[*best].late_ms))) best = n;
  }
  if (best) return *best;
  const std::string place = "channel '" + words.channel + "', " + show::seconds_text(*at) + " s";
  if (!nearest) return refused(words.show, place, "keys have nothing to mend in this channel", "Run `mien check` for what is found, and where.");
  return refused(words.show, place, "nothing is found there that keys can mend", "The nearest in this channel is at " + show::seconds_text(found.shortfalls[*nearest].key) + " s.");
}

}  // namespace

int run_arrive(const ArriveWords& words) {
  const store::Stamp read = store::stamp_of(words.show);
  auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  const auto refused = perform::refusal(*loaded->rig, store::rig_path(words.show, *loaded->show).string(), loaded->notes);
  tell(loaded->notes);
  if (refused) return tell(*refused);
  const auto plan = perform::compile(loaded->rig, loaded->show);
  const auto found = perform::study(*plan);
  std::optional<std::size_t> which;
  if (!words.at.empty()) {
    const auto one = finding_at(words, *plan, found);
    if (!one) return tell(one.problem());
    which = *one;
  }
  auto arrival = perform::make_it_arrive(plan, found, which, [](double) { return !interrupted(); });
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
  const auto left = [&](const perform::Shortfall& s) { return !which || perform::same_trouble(s, found.shortfalls[*which]); };
  return std::none_of(arrival.study.shortfalls.begin(), arrival.study.shortfalls.end(), left) ? kFine : kFindings;
}

}  // namespace mien::app
