#include "perform/speaking.hpp"

#include <algorithm>
#include <cmath>

#include "perform/render.hpp"
#include "perform/sync.hpp"
#include "show/roles.hpp"
#include "show/text.hpp"

namespace mien::perform {
namespace {

using show::Role;
using show::Time;

constexpr double kAtOnce = 1.5;  // not all that share a servo turn it fully the same way at once: so much of the sum is asked at most

// Servos of jaw and lips, with the direction in which each opens the mouth.
// A tick's setpoint is seen at that tick's show time (perform/sync.hpp) by servos of the middle response; by this one so much later.
struct Opener { int actuator; double sign; Time late; };

std::vector<Opener> openers_of(const RigMap& map, const show::Rig& rig) {
  std::vector<Opener> openers;
  for (const auto& mapping : rig.mappings)
    for (std::size_t n = 0; n < std::min(mapping.axes.size(), mapping.actuators.size()); ++n) {
      const auto role = show::parse_role(mapping.axes[n].role);
      if (!role || !(*role == Role::jaw_open || (*role >= Role::lip_upper_left && *role <= Role::lip_lower_right))) continue;
      const int actuator = actuator_index(rig, mapping.actuators[n]);
      double sign = 0;  // turning it up a little: does x rise?
      if (actuator >= 0) {
        std::vector<double> low(map.rest_deg), high(map.rest_deg), x_low(map.axes.size()), x_high(map.axes.size());
        high[static_cast<std::size_t>(actuator)] += 1;
        skin_of(map, low.data(), x_low.data()), skin_of(map, high.data(), x_high.data());
        for (std::size_t a = 0; a < x_low.size(); ++a)
          if (x_high[a] != x_low[a]) sign = x_high[a] > x_low[a] ? 1 : -1;
      }
      const double late_ms = actuator < 0 ? 0 : rig.actuators[static_cast<std::size_t>(actuator)].servo_response_ms - (show::to_seconds(motion_lead(rig)) * 1e3 - rig.link_latency_ms);
      if (sign != 0) openers.push_back({actuator, sign, show::from_seconds(late_ms * 1e-3)});
    }
  return openers;
}

// What was performed, tick by tick.
struct Performed {
  std::size_t actuators = 0, controls = 0;
  std::vector<float> deg, control;  // by tick, then actuator or control
  double setpoint(std::int64_t tick, int actuator) const { return deg[static_cast<std::size_t>(tick) * actuators + static_cast<std::size_t>(actuator)]; }
};

Performed performance_of(const Plan& plan) {
  Performed all{static_cast<std::size_t>(plan.actuators()), static_cast<std::size_t>(plan.controls()), {}, {}};
  render(plan, [&](const Tick& tick) {
    for (std::size_t a = 0; a < all.actuators; ++a) all.deg.push_back(static_cast<float>(tick.setpoint_deg[a]));
    for (std::size_t c = 0; c < all.controls; ++c) all.control.push_back(static_cast<float>(tick.control[c]));
    return true;
  });
  return all;
}

// Where servos would stand on a tick with what the viseme holds exactly so, and everything else as it is.
std::vector<double> pose_of(const Plan& plan, const Performed& performed, std::int64_t tick, const speech::Viseme& viseme) {
  Tick out;
  for (std::size_t c = 0; c < performed.controls; ++c) out.control[c] = performed.control[static_cast<std::size_t>(tick) * performed.controls + c];
  for (const auto& target : viseme.targets)
    if (const int c = control_index(*plan.rig, target.control); c >= 0 && target.held) out.control[static_cast<std::size_t>(c)] = target.value;
  aim(*plan.map, out);
  return {out.target_deg.begin(), out.target_deg.begin() + plan.actuators()};
}

bool holds(const speech::Viseme& viseme) {
  return std::any_of(viseme.targets.begin(), viseme.targets.end(), [](const auto& t) { return t.held; });
}

}  // namespace

std::vector<speech::Ability> abilities_of(const show::Rig& rig, const speech::VisemeTable& table) {
  const auto map = map_of(rig);
  std::vector<int> moved;
  for (const auto& name : speech::controls_of(table))
    if (const int c = control_index(rig, name); c >= 0) moved.push_back(c);
  const auto range_of = [&](int c) { return rig.controls[static_cast<std::size_t>(c)].max - rig.controls[static_cast<std::size_t>(c)].min; };
  std::vector<double> asked(rig.actuators.size(), 0);  // degrees, with everything at once
  for (const auto& influence : map.influences)
    if (std::find(moved.begin(), moved.end(), influence.control) != moved.end())
      asked[static_cast<std::size_t>(influence.actuator)] += std::abs(influence.deg_per_unit) * range_of(influence.control);
  const double middle_ms = show::to_seconds(motion_lead(rig)) * 1e3 - rig.link_latency_ms;
  std::vector<speech::Ability> abilities;
  for (const int c : moved) {
    const auto& control = rig.controls[static_cast<std::size_t>(c)];
    speech::Ability ability{control.name, 1e9, 1e12, control.min, control.max, control.rest, Time{0}};
    double slowest_ms = -1e9;
    for (const auto& influence : map.influences) {
      if (influence.control != c || influence.deg_per_unit == 0) continue;
      const auto& actuator = rig.actuators[static_cast<std::size_t>(influence.actuator)];
      const double share = kAtOnce * range_of(c) / std::max(asked[static_cast<std::size_t>(influence.actuator)], 1e-9);
      const double alone = 1 / std::abs(influence.deg_per_unit), part = std::min(share, alone);
      ability.per_s = std::min(ability.per_s, actuator.velocity_deg_s * part);
      ability.per_s2 = std::min(ability.per_s2, actuator.acceleration_deg_s2 * part);
      slowest_ms = std::max(slowest_ms, actuator.servo_response_ms);
    }
    if (slowest_ms > -1e9) ability.lead = show::from_seconds((slowest_ms - middle_ms) * 1e-3);
    abilities.push_back(ability);
  }
  return abilities;
}

Spoken spoken(const Plan& plan, const std::vector<SpokenLine>& lines, const speech::VisemeTable& table) {
  Spoken result;
  const auto openers = openers_of(*plan.map, *plan.rig);
  if (openers.empty() || lines.empty()) return result;
  const auto performed = performance_of(plan);
  const std::int64_t ticks = static_cast<std::int64_t>(performed.deg.size() / performed.actuators);
  const auto tick_at = [&](Time t) { return std::clamp<std::int64_t>(t.count() / plan.tick.count(), 0, ticks - 1); };
  std::vector<bool> near_speech(static_cast<std::size_t>(ticks), false);
  const Time margin = show::from_seconds(kSilenceMargin_s);
  Time first = plan.show->length, last{0};
  for (const auto& line : lines) {
    first = std::min(first, line.start), last = std::max(last, line.start + line.alignment.length);
    for (const auto& phone : line.alignment.phones) {
      const show::Range range{line.start + phone.range.begin, line.start + phone.range.end};
      if (range.end < Time{0} || range.begin > plan.show->length) continue;
      for (auto t = tick_at(range.begin - margin); t <= tick_at(range.end + margin); ++t) near_speech[static_cast<std::size_t>(t)] = true;
      const int index = speech::phone_index(phone.label);
      if (index < 0) continue;
      const auto& parts = table.phones[static_cast<std::size_t>(index)];
      const auto held = std::find_if(parts.begin(), parts.end(), [&](const auto& p) { return holds(table.visemes[static_cast<std::size_t>(p.viseme)]); });
      if (held == parts.end()) continue;
      ++result.closures;
      double least = 1e9;
      const Time from = range.begin - show::from_seconds(kNoticedLate_ms * 1e-3), to = range.begin + show::from_seconds(kNoticedEarly_ms * 1e-3);
      for (auto t = tick_at(from); t <= tick_at(to); ++t) {
        const auto pose = pose_of(plan, performed, t, table.visemes[static_cast<std::size_t>(held->viseme)]);
        double open = 0;
        for (const auto& opener : openers) open = std::max(open, opener.sign * (performed.setpoint(tick_at(tick_time(plan, t) - opener.late), opener.actuator) - pose[static_cast<std::size_t>(opener.actuator)]));
        least = std::min(least, open);
      }
      if (least <= plan.rig->tolerance_deg + 1e-6) { ++result.held; continue; }
      const std::string word = phone.word >= 0 && phone.word < static_cast<int>(line.alignment.words.size()) ? line.alignment.words[static_cast<std::size_t>(phone.word)].text : "";
      result.faults.push_back({SpokenFault::Kind::closure, range, phone.label, word, least});
    }
  }
  for (std::int64_t t = tick_at(first); t < tick_at(last);) {
    if (near_speech[static_cast<std::size_t>(t)]) { ++t; continue; }
    std::int64_t end = t;
    double most = 0;
    std::vector<double> low(openers.size(), 1e9), high(openers.size(), -1e9);
    for (; end < tick_at(last) && !near_speech[static_cast<std::size_t>(end)]; ++end)
      for (std::size_t o = 0; o < openers.size(); ++o) {
        const double deg = performed.setpoint(end, openers[o].actuator);
        low[o] = std::min(low[o], deg), high[o] = std::max(high[o], deg), most = std::max(most, high[o] - low[o]);
      }
    if (most > kSilentMove_deg) result.faults.push_back({SpokenFault::Kind::silence, {tick_time(plan, t), tick_time(plan, end)}, "", "", most});
    t = end;
  }
  std::stable_sort(result.faults.begin(), result.faults.end(), [](const auto& a, const auto& b) { return a.range.begin < b.range.begin; });
  return result;
}

show::Finding finding_of(const SpokenFault& fault, const std::string& file) {
  const auto rounded = [](double value) { return show::number_text(std::round(value * 10) / 10); };
  const std::string at = rounded(show::to_seconds(fault.range.begin)) + " s";
  if (fault.kind == SpokenFault::Kind::silence)
    return {show::Severity::warning, file, "mouth, " + at + " to " + rounded(show::to_seconds(fault.range.end)) + " s", "it moves by " + rounded(fault.open_deg) + " deg while nothing is said",
            "Take out the keys of jaw and lips there, or leave it if the head is meant to chew, sigh or smile."};
  return {show::Severity::warning, file, "mouth, " + fault.phone + (fault.word.empty() ? "" : " of '" + fault.word + "'") + " at " + at,
          "it stays " + rounded(fault.open_deg) + " deg open where lips should close", "Give the closure more time, open the mouth less before it, or run mien speak again."};
}

}  // namespace mien::perform
