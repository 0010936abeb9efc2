#include "show/servo_sheet.hpp"

#include <algorithm>
#include <cctype>
#include <vector>

#include "show/text.hpp"

namespace mien::show {
namespace {

constexpr double kKgfCm_n_m = 0.0980665;  // 1 kgf is 9.80665 N by definition (3rd CGPM, 1901)

// One part of the line: its figures in order, and what is left of it in small letters without spaces.
struct Part {
  std::string text;
  std::vector<double> figures;
  std::string unit;
  bool has(std::string_view word) const { return unit.find(word) != std::string::npos; }
};

Part part_of(std::string_view text) {
  Part part;
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\r' || text.back() == '\n')) text.remove_suffix(1);
  part.text = text;
  for (std::size_t i = 0; i < text.size();) {
    if (!std::isdigit(static_cast<unsigned char>(text[i]))) {
      if (text[i] != ' ') part.unit += static_cast<char>(std::tolower(static_cast<unsigned char>(text[i])));
      ++i;
      continue;
    }
    std::size_t end = i;
    // A point between figures is a decimal one, two are a range.
    while (end < text.size() && (std::isdigit(static_cast<unsigned char>(text[end])) || (text[end] == '.' && end + 1 < text.size() && std::isdigit(static_cast<unsigned char>(text[end + 1]))))) ++end;
    part.figures.push_back(parse_number(text.substr(i, end - i)).value_or(-1));
    part.unit += '#';
    i = end;
  }
  return part;
}

std::vector<Part> parts_of(std::string_view line) {
  std::vector<Part> parts;
  while (!line.empty()) {
    const auto end = line.find_first_of(",;");
    parts.push_back(part_of(line.substr(0, end)));
    line = end == std::string_view::npos ? std::string_view{} : line.substr(end + 1);
  }
  std::erase_if(parts, [](const Part& p) { return p.text.empty(); });
  return parts;
}

// "Micro 9 g" is a name, though it has a figure in it: its figures are a weight, or stand within a word.
bool is_name(const Part& part) { return part.figures.empty() || (std::isalpha(static_cast<unsigned char>(part.text.front())) && !part.has("/#")); }

}  // namespace

Result<ServoSheet> parse_servo_sheet(std::string_view line, const std::string& file, const std::string& place) {
  ServoSheet sheet;
  const auto refuse = [&](const Part& part, const std::string& why) {
    return Finding{Severity::error, file, place, "'" + part.text + "' " + why, "Write it as in: Micro, 0.12 s/60 deg, 180 deg, 500..2500 us, 4.8 V, 1.6 kg cm."};
  };
  const auto within = [](double value, double low, double high) { return value >= low && value <= high; };
  bool named = false;
  for (const Part& p : parts_of(line)) {
    const auto figure = [&](std::size_t i) { return i < p.figures.size() ? p.figures[i] : -1; };
    if (is_name(p)) {
      if (named) return refuse(p, "is a second name");
      sheet.name = p.text, named = true;
    } else if (p.has("/#") && p.has("s") && figure(1) == 60) {
      sheet.s_per_60deg = figure(0);
      if (!within(figure(0), 0.01, 2)) return refuse(p, "is not how fast a servo turns");
    } else if (p.has("us") || p.has("\xC2\xB5s") || p.has("\xCE\xBCs")) {
      sheet.pulse_min_us = figure(0), sheet.pulse_max_us = figure(1);
      if (p.figures.size() != 2 || !within(figure(0), 400, 2600) || !within(figure(1), 400, 2600) || figure(1) - figure(0) < 100) return refuse(p, "is not a range of pulses within 400 to 2600 us");
    } else if (p.has("kg")) {
      sheet.torque_n_m = figure(0) * kKgfCm_n_m;
      if (!within(figure(0), 0.1, 200)) return refuse(p, "is not a servo's torque");
    } else if (p.has("nm") || p.has("n\xC2\xB7m")) {
      sheet.torque_n_m = figure(0);
      if (!within(figure(0), 0.01, 20)) return refuse(p, "is not a servo's torque");
    } else if (p.has("deg") || p.has("\xC2\xB0")) {
      sheet.travel_deg = figure(0);
      if (p.figures.size() != 1 || !within(figure(0), 10, 360)) return refuse(p, "is not a servo's travel of 10 to 360 deg");
    } else if (p.unit == "#v") {
      sheet.voltage_v = figure(0);
      if (!within(figure(0), 3, 30)) return refuse(p, "is not a servo's voltage");
    } else {
      return refuse(p, "has no unit that is known here");
    }
  }
  return sheet;
}

double velocity_of(const ServoSheet& s) noexcept { return kLoadedShare * 60 / s.s_per_60deg; }
double acceleration_of(const ServoSheet& s) noexcept { return velocity_of(s) / kSpeedUp_s; }

bool put_limits(const ServoSheet& s, Actuator& a) noexcept {
  const double half = s.travel_deg / 2, min = std::max(a.min_deg, -half), max = std::min(a.max_deg, half);
  const bool cut = min != a.min_deg || max != a.max_deg;
  a.min_deg = min, a.max_deg = max, a.rest_deg = std::clamp(a.rest_deg, std::min(min, max), std::max(min, max));
  const double middle_us = (s.pulse_min_us + s.pulse_max_us) / 2, us_per_deg = (s.pulse_max_us - s.pulse_min_us) / s.travel_deg;
  // Reversed, the servo turns the other way: its longer pulse is the smaller angle (pulse_us in rig.hpp).
  a.pulse_min_us = middle_us + us_per_deg * (a.reversed ? -max : min);
  a.pulse_max_us = middle_us + us_per_deg * (a.reversed ? -min : max);
  a.velocity_deg_s = velocity_of(s), a.acceleration_deg_s2 = acceleration_of(s);
  a.servo = s.name;
  return cut;
}

ServoKind kind_of(const ServoSheet& s) {
  ServoKind kind{s.name, {}};
  kind.figures.no_load_deg_s = 60 / s.s_per_60deg;
  if (s.voltage_v > 0) kind.figures.voltage_v = s.voltage_v;
  if (s.torque_n_m > 0) kind.figures.stall_torque_n_m = s.torque_n_m;
  return kind;
}

}  // namespace mien::show
