// mien power: what a show draws from each rail, when that is too much, and what would do.
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "app/commands.hpp"
#include "app/interrupt.hpp"
#include "app/text.hpp"
#include "perform/power.hpp"
#include "perform/rig_check.hpp"
#include "show/text.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

constexpr const char* kCaution =
    "These are estimates from data-sheet figures: measure with an ammeter before you trust a supply with a head. Fuse every rail. Local\n"
    "electrical codes come first, and mains, chargers and battery packs are for someone licensed to work on them.";
constexpr double kUsualLength_m = 1, kUsualVoltage_v = 5;  // for the advice, where the rig doesn't say
constexpr std::size_t kMostMoments = 20;

struct Judged {
  const perform::Plan& plan;
  const perform::Power& power;
  const show::Findings& findings;

  const show::Rail& rail(const perform::RailPower& r) const { return plan.rig->boards[static_cast<std::size_t>(r.board)].rails[static_cast<std::size_t>(r.rail)]; }
  const std::string& board(const perform::RailPower& r) const { return plan.rig->boards[static_cast<std::size_t>(r.board)].name; }
  const char* verdict(const perform::RailPower& r) const {
    if (r.actuators.empty()) return "unused";
    if (!(r.feed.supply_a > 0)) return "no rating";
    const std::string place = perform::place_of(*plan.rig, r);
    bool found = false;
    for (const auto& f : findings) {
      if (f.place != place) continue;
      if (f.severity == show::Severity::error) return "too much";
      found = true;
    }
    return found ? "look" : r.over.empty() ? "fine" : "close";
  }
  static motion::Advice advice(const perform::RailPower& r) {
    return motion::advise(r.feed.voltage_v > 0 ? r.feed.voltage_v : kUsualVoltage_v, r.feed.wire.length_m > 0 ? r.feed.wire.length_m : kUsualLength_m, r.load);
  }
};

std::string amperes(double value) { return rounded(value, 100) + " A"; }
std::string with_time(const perform::Moment& m) { return amperes(m.current_a) + " at " + show::seconds_text(m.time) + " s"; }

void print_table(const Judged& j) {
  Table table{{"rail", "board", "servos", "rating", "worst case", "peak", "RMS over 1 s", "wire loses", "verdict"}};
  for (const auto& r : j.power.rails) {
    const std::string share = r.feed.voltage_v > 0 ? ", " + rounded(100 * r.drop_v / r.feed.voltage_v, 10) + " %" : "";
    table.push_back({j.rail(r).name, j.board(r), std::to_string(r.actuators.size()), r.feed.supply_a > 0 ? amperes(r.feed.supply_a) : "none",
                     amperes(r.load.stall_a), with_time(r.peak), with_time(r.rms), r.feed.wire.area_mm2 > 0 ? rounded(r.drop_v, 1000) + " V" + share : "unknown", j.verdict(r)});
  }
  std::printf("%s", aligned(table).c_str());
}

void print_moments(const Judged& j) {
  std::size_t count = 0;
  for (const auto& r : j.power.rails) {
    for (const auto& m : r.over) {
      if (++count > kMostMoments) continue;
      std::printf("%s: above 80 %% of %s from %s to %s s, at most %s\n", perform::place_of(*j.plan.rig, r).c_str(), amperes(r.feed.supply_a).c_str(),
                  show::seconds_text(m.range.begin).c_str(), show::seconds_text(m.range.end).c_str(), with_time(m.worst).c_str());
    }
  }
  if (count > kMostMoments) std::printf("and %zu moments more; --json lists all\n", count - kMostMoments);
  const auto used = [](const perform::RailPower& r) { return !r.actuators.empty(); };
  const auto rated = [](const perform::RailPower& r) { return r.feed.supply_a > 0; };
  const bool any_rated = std::any_of(j.power.rails.begin(), j.power.rails.end(), [&](const auto& r) { return used(r) && rated(r); });
  const bool all_rated = std::all_of(j.power.rails.begin(), j.power.rails.end(), [&](const auto& r) { return !used(r) || rated(r); });
  if (count == 0 && all_rated) std::printf("No rail gives more than 80 %% of its rating at any moment.\n");
  else if (count == 0 && any_rated) std::printf("No rail that has a rating gives more than 80 %% of it at any moment.\n");
}

// What holds of rails whose supply nobody has told: nothing is said of it, and that is no "fine".
show::Findings unrated(const perform::Plan& plan, const perform::Power& power, const std::string& rig_file) {
  show::Findings findings;
  for (const auto& r : power.rails) {
    if (r.actuators.empty() || r.feed.supply_a > 0) continue;
    const auto advice = Judged::advice(r);
    findings.push_back({show::Severity::warning, rig_file, perform::place_of(*plan.rig, r),
                        "has no rating, so whether its supply carries " + amperes(r.load.stall_a) + " with all stalled, and a peak of " + amperes(r.peak.current_a) + ", can't be judged",
                        "Give the rail its supply's rating_a in the rig" + (advice.supply_a > 0 ? "; " + amperes(advice.supply_a) + " would do" : std::string("; no usual supply would do, so split the rail"))});
  }
  return findings;
}

void print_advice(const Judged& j) {
  for (const auto& r : j.power.rails) {
    if (r.actuators.empty()) continue;
    const char* length = r.feed.wire.length_m > 0 ? "" : ", for 1 m of it";
    std::printf("%s: %s%s\n", perform::place_of(*j.plan.rig, r).c_str(), motion::to_text(Judged::advice(r)).c_str(), length);
  }
}

void print_power(const Judged& j) {
  print_table(j);
  std::printf("\n");
  print_moments(j);
  for (const auto& f : j.findings) std::printf("%s\n", show::to_text(f).c_str());
  if (j.power.assumed > 0) std::printf("%d servos have no kind in the rig; the figures of a usual micro servo stand for them.\n", j.power.assumed);
  std::printf("\n");
  print_advice(j);
  std::printf("\n%s\n", kCaution);
}

Json& append(Json& json, const char* a, const char* s, const perform::Moment& m) { return json.member(a, m.current_a).member(s, show::to_seconds(m.time)); }

void append_rail(Json& json, const Judged& j, const perform::RailPower& r) {
  json.open_object().member("rail", j.rail(r).name).member("board", j.board(r)).open_array("actuators");
  for (const int a : r.actuators) json.member("", j.plan.rig->actuators[static_cast<std::size_t>(a)].name);
  json.close().member("governed", j.rail(r).governed).member("voltage_v", r.feed.voltage_v).member("rating_a", r.feed.supply_a).member("connector_a", r.feed.connector_a)
      .member("fuse_a", r.feed.fuse_a).member("wire_mm2", r.feed.wire.area_mm2).member("wire_m", r.feed.wire.length_m).member("worst_case_a", r.load.stall_a);
  append(append(json, "peak_a", "peak_s", r.peak), "rms_a", "rms_s", r.rms).member("charge_as", r.charge_as).member("drop_v", r.drop_v).member("verdict", j.verdict(r)).open_array("moments");
  for (const auto& m : r.over)
    append(json.open_object().member("from_s", show::to_seconds(m.range.begin)).member("until_s", show::to_seconds(m.range.end)), "worst_a", "worst_s", m.worst).close();
  const auto advice = Judged::advice(r);
  json.close().open_object("advice").member("supply_a", advice.supply_a).member("fuse_a", advice.fuse_a).member("awg", double(advice.awg))
      .member("area_mm2", advice.area_mm2).member("drop_v", advice.drop_v).member("what", motion::to_text(advice)).close().close();
}

void print_power_json(const Judged& j, const std::string& file) {
  Json json;
  json.open_object().member("file", file).member("assumed", double(j.power.assumed)).open_array("rails");
  for (const auto& r : j.power.rails) append_rail(json, j, r);
  json.close().open_array("boards");
  for (std::size_t b = 0; b < j.power.board_peak.size(); ++b)
    append(json.open_object().member("board", j.plan.rig->boards[b].name), "peak_a", "peak_s", j.power.board_peak[b]).close();
  json.close().open_array("actuators");
  for (std::size_t a = 0; a < j.power.actuator_peak.size(); ++a)
    append(json.open_object().member("actuator", j.plan.rig->actuators[a].name).member("worst_case_a", j.power.actuator_stall_a[a]), "peak_a", "peak_s", j.power.actuator_peak[a]).close();
  json.close().open_array("findings");
  for (const auto& f : j.findings) append(json, f);
  std::string caution = kCaution;
  std::replace(caution.begin(), caution.end(), '\n', ' ');
  std::printf("%s\n", json.close().member("caution", caution).close().text().c_str());
}

}  // namespace

int run_power(const PowerWords& words) {
  auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  const std::string rig_file = store::rig_path(words.show, *loaded->show).string();
  const auto refused = perform::refusal(*loaded->rig, rig_file, loaded->notes);
  tell(loaded->notes);
  if (refused) return tell(*refused);
  const auto plan = perform::compile(loaded->rig, loaded->show);
  const auto power = perform::power(*plan, [](double) { return !interrupted(); });
  if (!power.whole) return tell({show::Severity::error, words.show, "", "stopped before the end; what it draws is not known", "Run it again."});
  auto findings = unrated(*plan, power, rig_file);
  const auto found = perform::findings_of(*plan->rig, power, rig_file);
  findings.insert(findings.end(), found.begin(), found.end());
  const Judged judged{*plan, power, findings};
  if (words.json) print_power_json(judged, words.show);
  else print_power(judged);
  return findings.empty() ? kFine : kFindings;
}

}  // namespace mien::app
