#include "show/commissioning.hpp"

#include <algorithm>
#include <cmath>

#include "show/text.hpp"
#include "show/validate.hpp"

namespace mien::show {
namespace {

constexpr double kLeastTravel_deg = 0.5;

double to_hundredths(double value) noexcept { return std::round(value * 100) / 100; }

Actuator& actuator_at(Rig& rig, int actuator) { return rig.actuators[static_cast<std::size_t>(actuator)]; }
const Actuator& actuator_at(const Rig& rig, int actuator) { return rig.actuators[static_cast<std::size_t>(actuator)]; }

Finding refusal(const Actuator& a, std::string what, std::string cure) {
  return {Severity::error, "", "actuator '" + a.name + "'", std::move(what), std::move(cure)};
}

Result<Rig> checked(Rig rig) {
  for (const Finding& finding : validate(rig, ""))
    if (finding.severity == Severity::error) return finding;
  return rig;
}

// The mapping that drives it and nothing else; -1: none.
int mapping_of(const Rig& rig, const std::string& name) {
  for (std::size_t m = 0; m < rig.mappings.size(); ++m)
    if (rig.mappings[m].actuators == std::vector<std::string>{name}) return static_cast<int>(m);
  return -1;
}

void set_end(Actuator& a, bool upper, double angle_deg) {
  // Which pulse belongs to which end depends on the direction.
  double& pulse = upper != a.reversed ? a.pulse_max_us : a.pulse_min_us;
  pulse = to_hundredths(pulse_us(a, angle_deg));
  (upper ? a.max_deg : a.min_deg) = angle_deg;
}

}  // namespace

Result<Rig> marked(const Rig& rig, int actuator, Mark mark, double angle_deg) {
  Rig changed = rig;
  Actuator& a = actuator_at(changed, actuator);
  if (!std::isfinite(angle_deg)) return refusal(a, "where it stands is not known", "Arm, and try again");
  angle_deg = to_hundredths(angle_deg);
  if (mark == Mark::minimum && angle_deg > a.max_deg - kLeastTravel_deg)
    return refusal(a, "a minimum of " + number_text(angle_deg) + " deg would be at or beyond its maximum of " + number_text(a.max_deg) + " deg",
                   "Go farther the other way, or set the maximum first");
  if (mark == Mark::maximum && angle_deg < a.min_deg + kLeastTravel_deg)
    return refusal(a, "a maximum of " + number_text(angle_deg) + " deg would be at or below its minimum of " + number_text(a.min_deg) + " deg",
                   "Go farther the other way, or set the minimum first");
  if (mark == Mark::rest && (angle_deg < a.min_deg || angle_deg > a.max_deg))
    return refusal(a, "a rest at " + number_text(angle_deg) + " deg would be outside its travel", "Set minimum and maximum first");
  if (mark == Mark::rest) a.rest_deg = angle_deg;
  else set_end(a, mark == Mark::maximum, angle_deg);
  a.rest_deg = std::clamp(a.rest_deg, a.min_deg, a.max_deg);
  a.commissioned = false;
  return checked(std::move(changed));
}

Result<Rig> turned_round(const Rig& rig, int actuator) {
  Rig changed = rig;
  Actuator& a = actuator_at(changed, actuator);
  const double low = -a.max_deg, high = -a.min_deg;
  a.min_deg = low, a.max_deg = high, a.rest_deg = a.rest_deg == 0 ? 0 : -a.rest_deg;
  a.reversed = !a.reversed;
  a.commissioned = false;
  const int m = mapping_of(rig, a.name);
  if (Measured* measured = m < 0 ? nullptr : std::get_if<Measured>(&changed.mappings[static_cast<std::size_t>(m)].response))
    for (Measured::Row& row : measured->rows) row.angle_deg = row.angle_deg == 0 ? 0 : -row.angle_deg;
  return checked(std::move(changed));
}

Result<Rig> with_table(const Rig& rig, int actuator, std::vector<Measured::Row> rows) {
  const Actuator& a = actuator_at(rig, actuator);
  const int m = mapping_of(rig, a.name);
  if (m < 0) return refusal(a, "no mapping drives it alone, so a table has no place", "Give it a mapping of its own in the rig's file");
  Rig changed = rig;
  Response& response = changed.mappings[static_cast<std::size_t>(m)].response;
  if (!std::holds_alternative<Straight>(response) && !std::holds_alternative<Measured>(response))
    return refusal(a, "a linkage drives it, and a table would replace that", "Make the mapping straight in the rig's file first");
  if (rows.size() < 2) return refusal(a, "a table needs two rows or more", "Step on, read again and add the row");
  std::sort(rows.begin(), rows.end(), [](const Measured::Row& l, const Measured::Row& r) { return l.x < r.x; });
  const auto same = std::adjacent_find(rows.begin(), rows.end(), [](const Measured::Row& l, const Measured::Row& r) { return !(l.x < r.x); });
  if (same != rows.end()) return refusal(a, "two rows of the table are at " + number_text(same->x), "Remove one of them");
  response = Measured{std::move(rows)};
  return checked(std::move(changed));
}

Rig with_commissioned(const Rig& rig, int actuator, bool commissioned) {
  Rig changed = rig;
  actuator_at(changed, actuator).commissioned = commissioned;
  return changed;
}

std::vector<Measured::Row> table_of(const Rig& rig, int actuator) {
  const int m = mapping_of(rig, actuator_at(rig, actuator).name);
  const Measured* measured = m < 0 ? nullptr : std::get_if<Measured>(&rig.mappings[static_cast<std::size_t>(m)].response);
  return measured ? measured->rows : std::vector<Measured::Row>{};
}

}  // namespace mien::show
