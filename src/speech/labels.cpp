#include "speech/labels.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <vector>

#include "show/text.hpp"
#include "speech/phones.hpp"

namespace mien::speech {
namespace {

using show::Finding;
using show::Severity;
using show::Time;

constexpr const char* kMadeWith = "made with";  // a tier of one interval

struct Interval { show::Range range; std::string text; };
using Tier = std::vector<Interval>;

bool is_silence(std::string_view label) {
  const auto low = show::small_letters(label);
  for (const char* name : {"", "sil", "sp", "spn", "pau", "#", "<sil>", "<p:>", "silence", "h#"})
    if (low == name) return true;
  return false;
}

// With silence between, as a tier wants it.
template <class Items, class Text>
Tier whole(const Items& items, Time length, Text text) {
  Tier tier;
  Time last{0};
  for (const auto& item : items) {
    if (item.range.empty()) continue;
    if (item.range.begin > last) tier.push_back({{last, item.range.begin}, ""});
    tier.push_back({item.range, text(item)});
    last = item.range.end;
  }
  if (last < length || tier.empty()) tier.push_back({{last, std::max(length, last)}, ""});
  return tier;
}

Tier words_of(const Alignment& a) { return whole(a.words, a.length, [](const Word& w) { return w.text; }); }
Tier phones_of(const Alignment& a) { return whole(a.phones, a.length, [](const Phone& p) { return p.label; }); }

std::string in_quotes(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) out += c == '"' ? "\"\"" : std::string(1, c);
  return out + '"';
}

void append_tier(std::string& out, int number, const std::string& name, const Tier& tier, Time length) {
  const auto s = [](Time t) { return show::seconds_text(t); };
  out += "    item [" + std::to_string(number) + "]:\n        class = \"IntervalTier\"\n        name = " + in_quotes(name) + "\n        xmin = 0\n        xmax = " + s(length) +
         "\n        intervals: size = " + std::to_string(tier.size()) + "\n";
  for (std::size_t n = 0; n < tier.size(); ++n)
    out += "        intervals [" + std::to_string(n + 1) + "]:\n            xmin = " + s(tier[n].range.begin) + "\n            xmax = " + s(tier[n].range.end) +
           "\n            text = " + in_quotes(tier[n].text) + "\n";
}

std::string text_grid_of(const Alignment& alignment) {
  const Time length = std::max({alignment.length, alignment.phones.empty() ? Time{0} : alignment.phones.back().range.end, alignment.words.empty() ? Time{0} : alignment.words.back().range.end});
  std::string out = "File type = \"ooTextFile\"\nObject class = \"TextGrid\"\n\nxmin = 0\nxmax = " + show::seconds_text(length) + "\ntiers? <exists>\nsize = " + (alignment.made_with.empty() ? "2" : "3") + "\nitem []:\n";
  append_tier(out, 1, "words", words_of(alignment), length);
  append_tier(out, 2, "phones", phones_of(alignment), length);
  if (!alignment.made_with.empty()) append_tier(out, 3, kMadeWith, {{{Time{0}, length}, alignment.made_with}}, length);
  return out;
}

std::string htk_of(const Alignment& alignment) {
  std::string out;
  int last_word = -1;
  Time last{0};
  const auto line = [&](show::Range range, const std::string& label) {
    out += std::to_string((range.begin.count() + 50) / 100) + ' ' + std::to_string((range.end.count() + 50) / 100) + ' ' + label + '\n';
  };
  for (const auto& phone : alignment.phones) {
    if (phone.range.begin > last) line({last, phone.range.begin}, "sil");
    const bool first = phone.word >= 0 && phone.word != last_word && phone.word < static_cast<int>(alignment.words.size());
    line(phone.range, first ? phone.label + ' ' + alignment.words[static_cast<std::size_t>(phone.word)].text : phone.label);
    last_word = phone.word, last = phone.range.end;
  }
  if (alignment.length > last) line({last, alignment.length}, "sil");
  return out;
}

std::string tabs_of(const Tier& tier) {
  std::string out;
  for (const auto& interval : tier) {
    std::string text = interval.text.empty() ? "sil" : interval.text;
    for (char& c : text) if (c == '\t' || c == '\n') c = ' ';
    out += show::seconds_text(interval.range.begin) + '\t' + show::seconds_text(interval.range.end) + '\t' + text + '\n';
  }
  return out;
}

// A TextGrid's values in their order: numbers, quoted texts and <flags> count, everything else is decoration (Praat's own rule).
struct Value { bool text = false; std::string is; int line = 1; };
std::vector<Value> values_of(std::string_view file) {
  std::vector<Value> values;
  int line = 1;
  for (std::size_t n = 0; n < file.size(); ++n) {
    const char c = file[n];
    if (c == '\n') { ++line; continue; }
    if (c == '!') { while (n + 1 < file.size() && file[n + 1] != '\n') ++n; continue; }
    if (std::isspace(static_cast<unsigned char>(c))) continue;
    if (c == '"') {
      Value value{true, {}, line};
      for (++n; n < file.size(); ++n) {
        if (file[n] == '"' && n + 1 < file.size() && file[n + 1] == '"') { value.is += '"', ++n; continue; }
        if (file[n] == '"') break;
        if (file[n] == '\n') ++line;
        value.is += file[n];
      }
      values.push_back(std::move(value));
      continue;
    }
    std::size_t end = n;
    while (end < file.size() && !std::isspace(static_cast<unsigned char>(file[end])) && file[end] != '"') ++end;
    const auto token = file.substr(n, end - n);
    if (show::parse_number(token)) values.push_back({false, std::string(token), line});
    n = end - 1;
  }
  return values;
}

class Reader {
 public:
  explicit Reader(const std::string& file) : file_(file) {}

  Finding wrong(std::string place, std::string what, std::string cure) const { return {Severity::error, file_, std::move(place), std::move(what), std::move(cure)}; }
  static std::string at(int line) { return "line " + std::to_string(line); }

  std::optional<Finding> text_grid(std::string_view text) {
    const auto values = values_of(text);
    const auto no_grid = [&] { return wrong("", "it is no TextGrid", "Save it from Praat as a text file (long or short), in UTF-8."); };
    if (values.size() < 5 || !values[0].text || values[0].is != "ooTextFile" || !values[1].text || values[1].is != "TextGrid") return no_grid();
    std::size_t n = 2;
    const auto number = [&]() -> std::optional<double> { return n < values.size() && !values[n].text ? show::parse_number(values[n++].is) : std::nullopt; };
    const auto first = number(), last = number(), tiers = number();
    if (!first || !last || !tiers) return no_grid();
    length = std::max(Time{0}, show::from_seconds(*last));
    for (int t = 0; t < static_cast<int>(*tiers); ++t) {
      if (n + 1 >= values.size()) return wrong("tier " + std::to_string(t + 1), "the file ends before it", "The file is cut off: save it again.");
      const bool intervals = values[n].is == "IntervalTier";
      const std::string name = show::small_letters(values[n + 1].is);
      n += 2;
      const auto from = number(), to = number(), size = number();
      if (!from || !to || !size || *size < 0) return wrong("tier '" + name + "'", "its times or its size are missing", "Save it again from Praat.");
      Tier tier;
      for (int i = 0; i < static_cast<int>(*size); ++i) {
        const int line = n < values.size() ? values[n].line : 0;
        const auto begin = number(), end = intervals ? number() : begin;
        if (!begin || !end || n >= values.size() || !values[n].text)
          return wrong("tier '" + name + "', interval " + std::to_string(i + 1), "the file ends within it, or it has no text", "The file is cut off: save it again.");
        const std::string label = values[n++].is;
        if (intervals)
          if (auto problem = add(tier, show::from_seconds(*begin), show::from_seconds(*end), label, at(line))) return problem;
      }
      if (name == "words") words = std::move(tier);
      else if (name == "phones") phones = std::move(tier), have_phones = true;
      else if (name == kMadeWith && !tier.empty()) made_with = tier.front().text;
    }
    if (!have_phones) return wrong("", "it has no tier named 'phones'", "Name the tier of the sounds 'phones', and that of the words 'words'.");
    return {};
  }

  std::optional<Finding> lines(std::string_view text, bool htk) {
    int number = 0;
    while (!text.empty()) {
      const std::size_t end = std::min(text.find('\n'), text.size());
      std::string_view line = text.substr(0, end);
      text.remove_prefix(std::min(end + 1, text.size()));
      ++number;
      if (line.ends_with('\r')) line.remove_suffix(1);
      if (line.find_first_not_of(" \t") == std::string_view::npos) continue;
      std::vector<std::string_view> cells;
      for (std::string_view rest = line; cells.size() < 3 && !rest.empty();) {
        const std::size_t gap = cells.size() == 2 && !htk ? rest.size() : std::min(rest.find(htk ? ' ' : '\t'), rest.size());
        cells.push_back(rest.substr(0, gap));
        rest.remove_prefix(std::min(gap + 1, rest.size()));
        if (htk && cells.size() == 3 && !rest.empty()) cells.push_back(rest);
      }
      const auto begin = cells.size() > 1 ? show::parse_number(cells[0]) : std::nullopt, finish = cells.size() > 1 ? show::parse_number(cells[1]) : std::nullopt;
      if (!begin || !finish) return wrong(at(number), "its two times can't be read", htk ? "Write: begin end phone, times in 100 ns." : "Write: begin, end and label with tabs between, times in seconds.");
      const auto time_of = [&](double value, std::string_view cell) { return htk ? Time{static_cast<std::int64_t>(std::clamp(value, -9e15, 9e15)) * 100} : show::parse_seconds(cell).value_or(show::from_seconds(value)); };
      const Time from = time_of(*begin, cells[0]), to = time_of(*finish, cells[1]);
      const std::string label(cells.size() > 2 ? cells[2] : std::string_view{});
      if (auto problem = add(phones, from, to, label, at(number))) return problem;
      length = std::max(length, to);
      if (!htk) continue;
      if (cells.size() > 3) words.push_back({{from, to}, std::string(cells[3])});
      else if (!words.empty() && !is_silence(label) && words.back().range.end == from) words.back().range.end = to;
    }
    return phones.empty() ? std::optional(wrong("", "there are no labels in it", "Name another file.")) : std::nullopt;
  }

  show::Result<Alignment> result(LabelForm form) {
    Alignment alignment;
    alignment.length = length, alignment.made_with = made_with;
    const auto is_word = [](const Interval& i) { return !is_silence(i.text) && phone_index(i.text) < 0; };
    if (form == LabelForm::tabs && std::any_of(phones.begin(), phones.end(), is_word)) std::swap(words, phones);
    for (const auto& interval : words)
      if (!is_silence(interval.text)) alignment.words.push_back({interval.range, interval.text, 1, Origin::given});
    std::size_t word = 0;
    for (const auto& interval : phones) {
      if (is_silence(interval.text)) continue;
      const auto label = plain_phone(interval.text);
      if (label.empty())
        return wrong("phone at " + show::seconds_text(interval.range.begin) + " s", "'" + interval.text + "' is no ARPABET phone", "Use CMUdict's 39 phones, with or without stress; leave silence empty.");
      const Time middle = interval.range.begin + interval.range.length() / 2;
      while (word < alignment.words.size() && alignment.words[word].range.end <= middle) ++word;
      const bool inside = word < alignment.words.size() && alignment.words[word].range.contains(middle);
      alignment.phones.push_back({interval.range, label, 1, inside ? static_cast<int>(word) : -1});
    }
    return alignment;
  }

 private:
  std::optional<Finding> add(Tier& tier, Time begin, Time end, const std::string& label, const std::string& place) const {
    if (begin < Time{0} || end < begin) return wrong(place, "it ends before it begins, or begins before 0", "Correct its times.");
    if (!tier.empty() && begin < tier.back().range.end) return wrong(place, "it begins before the one before it has ended", "Correct its times: labels may not overlap.");
    if (begin < end) tier.push_back({{begin, end}, label});
    return {};
  }

  const std::string& file_;
  Tier words, phones;
  bool have_phones = false;
  Time length{0};
  std::string made_with;
};

}  // namespace

std::optional<LabelForm> label_form(std::string_view file_name) {
  const auto name = show::small_letters(file_name);
  if (name.ends_with(".textgrid")) return LabelForm::text_grid;
  if (name.ends_with(".lab")) return LabelForm::htk;
  if (name.ends_with(".txt") || name.ends_with(".tsv")) return LabelForm::tabs;
  return {};
}

std::string write_labels(const Alignment& alignment, LabelForm form, bool words) {
  if (form == LabelForm::text_grid) return text_grid_of(alignment);
  if (form == LabelForm::htk) return htk_of(alignment);
  return tabs_of(words ? words_of(alignment) : phones_of(alignment));
}

show::Result<Alignment> read_labels(std::string_view text, LabelForm form, const std::string& file) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  Reader reader(file);
  if (auto problem = form == LabelForm::text_grid ? reader.text_grid(text) : reader.lines(text, form == LabelForm::htk)) return *problem;
  return reader.result(form);
}

}  // namespace mien::speech
