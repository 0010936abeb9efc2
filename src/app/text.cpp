#include "app/text.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>

namespace mien::app {
namespace {

void append_quoted(std::string& out, std::string_view text) {
  out += '"';
  for (const char c : text) {
    if (c == '"' || c == '\\') {
      (out += '\\') += c;
    } else if (static_cast<unsigned char>(c) < 0x20) {
      char escape[8];
      std::snprintf(escape, sizeof escape, "\\u%04x", c);
      out += escape;
    } else {
      out += c;
    }
  }
  out += '"';
}

}  // namespace

void append_number(std::string& out, double value) {
  char digits[32];
  out.append(digits, std::to_chars(digits, digits + sizeof digits, value).ptr);
}

std::string number(double value) {
  std::string out;
  append_number(out, value);
  return out;
}

std::string rounded(double value, double parts) { return number(std::round(value * parts) / parts); }

std::string csv_field(std::string_view text) {
  if (text.find_first_of("\",\r\n") == std::string_view::npos) return std::string(text);
  std::string out = "\"";
  for (const char c : text) (out += c) += c == '"' ? "\"" : "";
  return out + '"';
}

std::string aligned(const Table& table) {
  std::vector<std::size_t> widths(table.front().size());
  for (const auto& row : table)
    for (std::size_t c = 0; c < row.size(); ++c) widths[c] = std::max(widths[c], row[c].size());
  std::string text;
  for (const auto& row : table) {
    for (std::size_t c = 0; c < row.size(); ++c) text += row[c] + (c + 1 < row.size() ? std::string(widths[c] + 2 - row[c].size(), ' ') : "\n");
  }
  return text;
}

void Json::key(std::string_view name) {
  if (!first_) out_ += ", ";
  first_ = false;
  if (name.empty()) return;
  append_quoted(out_, name);
  out_ += ": ";
}

Json& Json::open_object(std::string_view name) {
  key(name);
  out_ += '{', ends_ += '}', first_ = true;
  return *this;
}

Json& Json::open_array(std::string_view name) {
  key(name);
  out_ += '[', ends_ += ']', first_ = true;
  return *this;
}

Json& Json::close() {
  out_ += ends_.back();
  ends_.pop_back();
  first_ = false;
  return *this;
}

Json& Json::member(std::string_view name, std::string_view value) {
  key(name);
  append_quoted(out_, value);
  return *this;
}

Json& Json::member(std::string_view name, double value) {
  key(name);
  out_ += std::isfinite(value) ? number(value) : "null";
  return *this;
}

Json& Json::member(std::string_view name, bool value) {
  key(name);
  out_ += value ? "true" : "false";
  return *this;
}

namespace {

Json& members(Json& json, const show::Finding& finding) {
  const char* const severities[] = {"note", "warning", "error"};
  return json.member("severity", severities[static_cast<int>(finding.severity)])
      .member("file", finding.file)
      .member("place", finding.place)
      .member("what", finding.what)
      .member("cure", finding.cure);
}

}  // namespace

void append(Json& json, const show::Finding& finding) { members(json.open_object(), finding).close(); }

void append(Json& json, const perform::Plan& plan, const perform::Shortfall& s, const std::string& file) {
  members(json.open_object(), perform::finding_of(plan, s, file))
      .member("time_s", show::to_seconds(s.range.begin))
      .member("until_s", show::to_seconds(s.range.end))
      .member("key_s", show::to_seconds(s.key))
      .member("channel", s.control < 0 ? std::string() : plan.rig->controls[static_cast<std::size_t>(s.control)].name)
      .member("layer", s.layer < 0 ? std::string() : plan.show->layers[static_cast<std::size_t>(s.layer)]->name)
      .member("actuator", plan.rig->actuators[static_cast<std::size_t>(s.actuator)].name)
      .member("cause", perform::name(s.cause))
      .member("late_ms", s.late_ms)
      .member("off_deg", s.off_deg)
      .close();
}

}  // namespace mien::app
