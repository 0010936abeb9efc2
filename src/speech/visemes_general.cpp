// A table of visemes for any rig whose mapping says what its axes are.
#include <algorithm>
#include <array>
#include <cmath>

#include "show/roles.hpp"
#include "speech/visemes.hpp"

namespace mien::speech {
namespace {

using show::Role;

// What a control can do for a mouth.
enum Deed { jaw, wide, round, close, tuck, upper, lower, kDeeds };

// Shares of the way from rest to the end, by viseme; a negative one leaves the deed free. The shapes are common practice, drawn by eye.
constexpr double kFree = -1;
struct Shape { Dominance dominance; std::array<double, kDeeds> share; };
constexpr std::array<Shape, kVisemes> kShapes{{
    //  dominance                    jaw    wide   round  close  tuck   upper  lower
    {{0.8, 0.014, 0.014, 1}, {0, 0, 0, 0, 0, 0, 0}},                          // none
    {{1.0, 0.020, 0.020, 1}, {0.05, kFree, kFree, 0.7, 0, 0, 0}},             // p b m
    {{0.9, 0.020, 0.020, 1}, {0.10, kFree, kFree, 0, 0.9, 0.1, 0}},           // f v
    {{0.5, 0.020, 0.020, 1}, {0.20, kFree, kFree, 0, 0, 0.15, 0.25}},         // T D
    {{0.4, 0.022, 0.022, 1}, {0.16, kFree, kFree, 0, 0, 0.15, 0.20}},         // t d
    {{0.3, 0.022, 0.022, 1}, {0.22, kFree, kFree, 0, 0, kFree, kFree}},       // k g
    {{0.8, 0.015, 0.017, 1}, {0.14, 0, 0.55, 0, 0, 0.40, 0.45}},              // tS dZ S
    {{0.6, 0.020, 0.020, 1}, {0.07, 0.30, 0, 0, 0, 0.25, 0.35}},              // s z
    {{0.4, 0.022, 0.022, 1}, {0.19, kFree, kFree, 0, 0, 0.15, 0.22}},         // n l
    {{0.6, 0.016, 0.018, 1}, {0.18, 0, 0.40, 0, 0, 0.20, 0.25}},              // r
    {{1.0, 0.012, 0.012, 1}, {0.65, 0.1, 0, 0, 0, 0.30, 0.50}},               // A:
    {{0.9, 0.013, 0.013, 1}, {0.42, 0.30, 0, 0, 0, 0.30, 0.42}},              // e
    {{0.9, 0.014, 0.014, 1}, {0.24, 0.50, 0, 0, 0, 0.28, 0.35}},              // I
    {{1.0, 0.012, 0.012, 1}, {0.54, 0, 0.45, 0, 0, 0.25, 0.40}},              // Q
    {{1.0, 0.013, 0.013, 1}, {0.20, 0, 0.85, 0, 0, 0.20, 0.30}},              // U
}};

struct Pull { double jaw = 0, wide = 0, up = 0, down = 0; int wides = 0, ups = 0, downs = 0; };

// How far an axis of the mouth goes, in shares of the longest way that its terms give it.
Pull pull_of(const show::Rig& rig, const show::Control& control, double to) {
  Pull pull;
  for (const auto& mapping : rig.mappings)
    for (const auto& axis : mapping.axes) {
      const auto role = show::parse_role(axis.role);
      if (!role) continue;
      double all = 0, own = 0;
      for (const auto& term : axis.terms) {
        const auto c = std::find_if(rig.controls.begin(), rig.controls.end(), [&](const auto& other) { return other.name == term.control; });
        if (c == rig.controls.end()) continue;
        all = std::max(all, std::abs(term.weight) * std::max(std::abs(c->max - c->rest), std::abs(c->min - c->rest)));
        if (term.control == control.name) own += term.weight * (to - control.rest);
      }
      if (all <= 0 || own == 0) continue;
      const double share = own / all;
      if (*role == Role::jaw_open) pull.jaw += share;
      if (*role == Role::lip_corner_wide_left || *role == Role::lip_corner_wide_right) pull.wide += share, ++pull.wides;
      if (*role >= Role::lip_upper_left && *role <= Role::lip_upper_right) pull.up += share, ++pull.ups;
      if (*role >= Role::lip_lower_left && *role <= Role::lip_lower_right) pull.down += share, ++pull.downs;
    }
  if (pull.wides) pull.wide /= pull.wides;
  if (pull.ups) pull.up /= pull.ups;
  if (pull.downs) pull.down /= pull.downs;
  return pull;
}

// How well a control does a deed: 0 not at all. Each asks for one direction and as little as may be of the rest.
double fitness(Deed deed, const Pull& p) {
  const auto only = [](double wanted, double other) { return wanted > 0.3 ? wanted - 0.5 * std::abs(other) : 0; };
  switch (deed) {
    case jaw: return only(p.jaw, 0);
    case wide: return only(p.wide, p.jaw);
    case round: return only(-p.wide, p.jaw);
    case close: return p.up < -0.15 && p.down < -0.15 ? -p.up - p.down : 0;
    case tuck: return p.down < -0.15 && p.up > 0.1 ? p.up - p.down : 0;
    case upper: return p.down >= -0.1 && p.down < 0.5 * p.up ? only(p.up, p.jaw) : 0;
    case lower: return p.up >= -0.1 && p.up < 0.5 * p.down ? only(p.down, p.jaw) : 0;
    default: return 0;
  }
}

struct Doer { const show::Control* control = nullptr; double to = 0; };

}  // namespace

std::optional<VisemeTable> general_visemes(const show::Rig& rig) {
  std::array<std::vector<Doer>, kDeeds> doers;
  std::array<double, kDeeds> best{};
  for (int d = 0; d < kDeeds; ++d)
    for (const auto& control : rig.controls)
      for (const double end : {control.min, control.max}) {
        if (end == control.rest) continue;
        const double fit = fitness(static_cast<Deed>(d), pull_of(rig, control, end));
        auto& list = doers[static_cast<std::size_t>(d)];
        if (fit <= 0 || fit < 0.6 * best[static_cast<std::size_t>(d)]) continue;
        if (fit > best[static_cast<std::size_t>(d)] / 0.6) list.clear();
        best[static_cast<std::size_t>(d)] = std::max(best[static_cast<std::size_t>(d)], fit);
        list.push_back({&control, end});  // left and right of one deed are as good as each other
      }
  if (doers[jaw].empty() && doers[lower].empty() && doers[upper].empty()) return {};
  VisemeTable table = standard_phones();
  for (std::size_t v = 0; v < kShapes.size(); ++v) {
    auto& viseme = table.visemes[v];
    viseme.dominance = kShapes[v].dominance;
    for (std::size_t d = 0; d < kDeeds; ++d) {
      const double share = kShapes[v].share[d];
      if (share == kFree) continue;
      const bool held = (v == 1 && d != wide && d != round) || (v == 2 && (d == tuck || d == close || d == lower || d == jaw));
      for (const auto& doer : doers[d]) {
        const double value = doer.control->rest + share * (doer.to - doer.control->rest);
        const auto same = std::find_if(viseme.targets.begin(), viseme.targets.end(), [&](const Target& t) { return t.control == doer.control->name; });
        if (same == viseme.targets.end()) viseme.targets.push_back({doer.control->name, value, held});
        else if (share > 0) same->value += value - doer.control->rest, same->held = same->held || held;  // one control, two deeds by its two ends
      }
    }
    for (auto& target : viseme.targets) {
      const auto control = std::find_if(rig.controls.begin(), rig.controls.end(), [&](const auto& c) { return c.name == target.control; });
      target.value = std::clamp(target.value, control->min, control->max);
    }
  }
  return table;
}

}  // namespace mien::speech
