#include "speech/lexicon.hpp"

#include <algorithm>
#include <fstream>
#include <mutex>
#include <sstream>
#include <string_view>

#include "speech/phones.hpp"

#ifdef MIEN_FLITE
extern "C" {
#include <flite/flite.h>
cst_lexicon* cmu_lex_init(void);
}
#endif

namespace mien::speech {
namespace {

#ifdef MIEN_FLITE
// flite writes the unstressed vowel "ax", which CMUdict counts with AH.
std::string phone_of_flite(std::string_view name) {
  if (name.size() > 1 && name.back() >= '0' && name.back() <= '2') name.remove_suffix(1);
  return name == "ax" ? "AH" : plain_phone(name);
}

// Phones as flite names them, with the stress of vowels as a digit.
std::vector<std::string> named_by_flite(const std::string& word) {
  static std::mutex one_at_a_time;  // flite's lexicon has buffers of its own
  const std::lock_guard lock(one_at_a_time);
  static cst_lexicon* lexicon = cmu_lex_init();
  std::vector<std::string> names;
  cst_val* found = lexicon ? lex_lookup(lexicon, word.c_str(), nullptr, nullptr) : nullptr;
  for (const cst_val* v = found; v; v = val_cdr(v)) names.emplace_back(val_string(val_car(v)));
  if (found) delete_val(found);
  return names;
}

Pronunciation by_rules(const std::string& word) {
  Pronunciation phones;
  for (const auto& name : named_by_flite(word))
    if (auto phone = phone_of_flite(name); !phone.empty()) phones.push_back(std::move(phone));
  return phones;
}
#else
std::vector<std::string> named_by_flite(const std::string&) { return {}; }
Pronunciation by_rules(const std::string&) { return {}; }
#endif

}  // namespace

std::vector<int> stresses(const std::string& word) {
  std::vector<int> stress;
  for (const auto& name : named_by_flite(word))
    if (const char last = name.empty() ? ' ' : name.back(); last >= '0' && last <= '2') stress.push_back(last == '0' ? 0 : 1);
  return stress;
}

bool has_rules() noexcept {
#ifdef MIEN_FLITE
  return true;
#else
  return false;
#endif
}

std::filesystem::path dictionary_file() {
#ifdef MIEN_SPHINX_MODELS
  return std::filesystem::path(MIEN_SPHINX_MODELS) / "en-us" / "cmudict-en-us.dict";
#else
  return {};
#endif
}

struct Lexicon::Entries {
  std::string text;
  struct Entry { std::string_view word, phones; };
  std::vector<Entry> sorted;  // by word, variants in the file's order
};

Lexicon Lexicon::of(std::string text) {
  auto entries = std::make_shared<Entries>();
  entries->text = std::move(text);
  std::string_view rest = entries->text;
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find('\n'), rest.size());
    std::string_view line = rest.substr(0, end);
    rest.remove_prefix(std::min(end + 1, rest.size()));
    const std::size_t gap = line.find_first_of(" \t");
    if (gap == std::string_view::npos || gap == 0 || line.starts_with(";;;")) continue;
    std::string_view word = line.substr(0, gap);
    if (const std::size_t variant = word.find('('); variant != std::string_view::npos && variant > 0) word = word.substr(0, variant);
    entries->sorted.push_back({word, line.substr(gap + 1)});
  }
  std::stable_sort(entries->sorted.begin(), entries->sorted.end(), [](const auto& a, const auto& b) { return a.word < b.word; });
  Lexicon lexicon;
  lexicon.entries_ = std::move(entries);
  return lexicon;
}

show::Result<Lexicon> Lexicon::load(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  if (file.empty() || !in)
    return show::Finding{show::Severity::error, file.string(), "", "the English pronouncing dictionary is not there",
                         "Install the packages libpocketsphinx-dev and pocketsphinx-en-us, then build Mien again."};
  std::ostringstream text;
  text << in.rdbuf();
  return of(std::move(text).str());
}

namespace {
Pronunciation phones_in(std::string_view text) {
  Pronunciation phones;
  std::istringstream words{std::string(text)};
  for (std::string label; words >> label && !label.starts_with('#');)
    if (auto phone = plain_phone(label); !phone.empty()) phones.push_back(std::move(phone));
  return phones;
}

// What a plural or possessive adds to a stem: by the usual rule of English.
void add_s(Pronunciation& phones) {
  const std::string_view last = phones.back();
  const auto among = [&](std::initializer_list<std::string_view> some) { return std::find(some.begin(), some.end(), last) != some.end(); };
  if (among({"S", "Z", "SH", "ZH", "CH", "JH"})) phones.insert(phones.end(), {"IH", "Z"});
  else phones.emplace_back(among({"P", "T", "K", "F", "TH"}) ? "S" : "Z");
}
}  // namespace

Pronounced Lexicon::look_up(const SpokenWord& word) const {
  Pronounced result{word.text, Origin::missing, {}};
  const auto ways_of = [&](std::string_view text) {
    std::vector<Pronunciation> ways;
    if (!entries_) return ways;
    auto at = std::lower_bound(entries_->sorted.begin(), entries_->sorted.end(), text, [](const auto& e, std::string_view t) { return e.word < t; });
    for (; at != entries_->sorted.end() && at->word == text; ++at)
      if (auto phones = phones_in(at->phones); !phones.empty() && std::find(ways.begin(), ways.end(), phones) == ways.end()) ways.push_back(std::move(phones));
    return ways;
  };
  if (word.foreign || word.text.empty()) return result;
  result.ways = ways_of(word.text);
  if (result.ways.empty() && word.text.ends_with("'s")) {
    result.ways = ways_of(std::string_view(word.text).substr(0, word.text.size() - 2));
    for (auto& way : result.ways) add_s(way);
  }
  if (result.ways.empty() && word.capitals && word.text.size() <= 5) {
    Pronunciation spelled;
    for (const char letter : word.text) {
      auto one = ways_of(std::string{letter, '.'});
      if (one.empty()) one = ways_of(std::string(1, letter));
      if (one.empty()) { spelled.clear(); break; }
      spelled.insert(spelled.end(), one[0].begin(), one[0].end());
    }
    if (!spelled.empty()) result.ways = {spelled};
  }
  if (!result.ways.empty()) {
    result.origin = Origin::dictionary;
    return result;
  }
  if (auto phones = by_rules(word.text); !phones.empty()) result.origin = Origin::rules, result.ways = {std::move(phones)};
  return result;
}

}  // namespace mien::speech
