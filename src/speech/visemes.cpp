#include "speech/visemes.hpp"

#include <algorithm>
#include <cmath>

#include "show/text.hpp"

namespace mien::speech {
namespace {

using show::Finding;
using show::Severity;

constexpr const char* kHead = "mien visemes 1";

std::vector<std::string> words_of(std::string_view line) {
  std::vector<std::string> words;
  for (std::size_t n = 0; n < line.size();) {
    const std::size_t begin = line.find_first_not_of(" \t\r", n);
    if (begin == std::string_view::npos) break;
    const std::size_t end = std::min(line.find_first_of(" \t\r", begin), line.size());
    words.emplace_back(line.substr(begin, end - begin));
    n = end;
  }
  return words;
}

std::optional<int> viseme_number(std::string_view text) {
  const auto number = show::parse_number(text);
  if (!number || *number != std::floor(*number) || *number < 0 || *number >= kVisemes) return {};
  return static_cast<int>(*number);
}

std::optional<std::string> read_phone(const std::vector<std::string>& words, VisemeTable& table) {
  const int phone = words.size() > 1 ? phone_index(words[1]) : -1;
  if (phone < 0) return "it names no phone of CMUdict";
  auto& parts = table.phones[static_cast<std::size_t>(phone)];
  parts.clear();
  for (std::size_t n = 2; n < words.size(); ++n) {
    const std::size_t sign = words[n].find('@');
    const auto viseme = viseme_number(std::string_view(words[n]).substr(0, sign));
    const auto at = sign == std::string::npos ? 0.5 : show::parse_number(std::string_view(words[n]).substr(sign + 1));
    if (!viseme || !at || *at < 0 || *at > 1) return "'" + words[n] + "' is no viseme from 0 to 14, or lies outside of the phone";
    parts.push_back({*viseme, *at});
  }
  return {};
}

std::optional<std::string> read_viseme(const std::vector<std::string>& words, VisemeTable& table) {
  const auto number = words.size() > 1 ? viseme_number(words[1]) : std::nullopt;
  if (!number) return "it names no viseme from 0 to 14";
  Viseme viseme;
  std::size_t n = 2;
  for (; n < words.size() && words[n] != ":"; n += 2) {
    const double value = n + 1 < words.size() ? show::parse_number(words[n + 1]).value_or(0) : 0;
    double* const field = words[n] == "alpha" ? &viseme.dominance.alpha : words[n] == "before" ? &viseme.dominance.theta_before
                          : words[n] == "after" ? &viseme.dominance.theta_after : words[n] == "power" ? &viseme.dominance.power : nullptr;
    if (!field) return "'" + words[n] + "' is none of alpha, before, after, power";
    if (value <= 0 || value > 100) return "'" + words[n] + "' wants a number above 0";
    *field = value;
  }
  for (++n; n < words.size(); n += 2) {
    std::string text = n + 1 < words.size() ? words[n + 1] : "";
    const bool held = text.ends_with('!');
    if (held) text.pop_back();
    const auto value = show::parse_number(text);
    if (!value) return "control '" + words[n] + "' has no value";
    viseme.targets.push_back({words[n], *value, held});
  }
  table.visemes[static_cast<std::size_t>(*number)] = std::move(viseme);
  return {};
}

}  // namespace

VisemeTable standard_phones() {
  VisemeTable table;
  const auto set = [&](const char* phone, std::vector<PhonePart> parts) { table.phones[static_cast<std::size_t>(phone_index(phone))] = std::move(parts); };
  // ISO/IEC 14496-2, FBA visemes: 1 p b m, 2 f v, 3 T D, 4 t d, 5 k g, 6 tS dZ S, 7 s z, 8 n l, 9 r, 10 A:, 11 e, 12 I, 13 Q, 14 U.
  const std::pair<int, std::vector<const char*>> rows[] = {{1, {"P", "B", "M"}}, {2, {"F", "V"}}, {3, {"TH", "DH"}}, {4, {"T", "D"}}, {5, {"K", "G"}},
      {6, {"CH", "JH", "SH"}}, {7, {"S", "Z"}}, {8, {"N", "L"}}, {9, {"R"}}, {10, {"AA"}}, {11, {"EH"}}, {12, {"IH"}}, {13, {"AO"}}, {14, {"UH"}}};
  for (const auto& [viseme, phones] : rows)
    for (const char* phone : phones) set(phone, {{viseme, 0.5}});
  // What the standard doesn't list goes to what looks most like it; diphthongs glide.
  for (const auto& [phone, viseme] : {std::pair{"ZH", 6}, {"NG", 5}, {"ER", 9}, {"AE", 10}, {"AH", 11}, {"IY", 12}, {"Y", 12}, {"UW", 14}, {"W", 14}}) set(phone, {{viseme, 0.5}});
  set("AY", {{10, 0.3}, {12, 0.85}}), set("AW", {{10, 0.3}, {14, 0.85}}), set("EY", {{11, 0.3}, {12, 0.8}});
  set("OW", {{13, 0.3}, {14, 0.8}}), set("OY", {{13, 0.3}, {12, 0.85}});
  return table;
}

show::Result<VisemeTable> parse_visemes(std::string_view text, const std::string& file) {
  VisemeTable table = standard_phones();
  int number = 0;
  bool headed = false;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    ++number;
    const auto words = words_of(line.substr(0, line.find('#')));
    if (words.empty()) continue;
    const auto wrong = [&](std::string what) { return Finding{Severity::error, file, "line " + std::to_string(number), std::move(what), "See shows/keeper.visemes.txt for how its lines are written."}; };
    if (!headed) {
      if (words != words_of(kHead)) return wrong(std::string("it is no table of visemes: its first line is not '") + kHead + "'");
      headed = true;
      continue;
    }
    const auto problem = words[0] == "phone" ? read_phone(words, table) : words[0] == "viseme" ? read_viseme(words, table) : "'" + words[0] + "' is neither phone nor viseme";
    if (problem) return wrong(*problem);
  }
  if (!headed) return Finding{Severity::error, file, "", "it is empty", "See shows/keeper.visemes.txt for how it is written."};
  return table;
}

std::string write_visemes(const VisemeTable& table) {
  std::string out = std::string(kHead) + "\n";
  const auto number = [](double value) { return show::number_text(value); };
  for (std::size_t v = 0; v < table.visemes.size(); ++v) {
    const auto& viseme = table.visemes[v];
    out += "viseme " + std::to_string(v) + " alpha " + number(viseme.dominance.alpha) + " before " + number(viseme.dominance.theta_before) + " after " +
           number(viseme.dominance.theta_after) + " power " + number(viseme.dominance.power) + " :";
    for (const auto& target : viseme.targets) out += " " + target.control + " " + number(target.value) + (target.held ? "!" : "");
    out += "\n";
  }
  for (std::size_t p = 0; p < table.phones.size(); ++p) {
    out += "phone " + std::string(kPhones[p]);
    for (const auto& part : table.phones[p]) out += " " + std::to_string(part.viseme) + (part.at == 0.5 ? "" : "@" + number(part.at));
    out += "\n";
  }
  return out;
}

std::vector<std::string> controls_of(const VisemeTable& table) {
  std::vector<std::string> names;
  for (const auto& viseme : table.visemes)
    for (const auto& target : viseme.targets)
      if (std::find(names.begin(), names.end(), target.control) == names.end()) names.push_back(target.control);
  return names;
}

show::Findings check_visemes(const VisemeTable& table, const show::Rig& rig, const std::string& file) {
  show::Findings findings;
  std::vector<std::string> known;
  for (const auto& control : rig.controls) known.push_back(control.name);
  bool meets = false;
  for (std::size_t v = 0; v < table.visemes.size(); ++v)
    for (const auto& target : table.visemes[v].targets) {
      const std::string place = "viseme " + std::to_string(v) + ", control " + target.control;
      const auto control = std::find_if(rig.controls.begin(), rig.controls.end(), [&](const auto& c) { return c.name == target.control; });
      if (control == rig.controls.end()) findings.push_back({Severity::error, file, place, "the rig has no such control", show::suggestion(target.control, known, "The rig has no controls: give it one of this name.")});
      else if (target.value < control->min || target.value > control->max)
        findings.push_back({Severity::error, file, place, show::number_text(target.value) + " lies outside of the control's " + show::number_text(control->min) + " to " + show::number_text(control->max), "Keep within its range."});
      meets = meets || (v == 1 && target.held);
    }
  if (!meets) findings.push_back({Severity::warning, file, "viseme 1", "nothing of it is held, so that p, b and m may be blended away", "Mark with '!' the controls that make the lips meet."});
  return findings;
}

}  // namespace mien::speech
