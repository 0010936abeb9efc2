#include "speech/alignment_edit.hpp"

#include <algorithm>
#include <cmath>

namespace mien::speech {
namespace {

using show::Range;
using show::Time;

// Phones of a word: [first, end) of the phones.
std::pair<std::size_t, std::size_t> phones_of(const Alignment& a, std::size_t word) noexcept {
  std::size_t first = 0;
  while (first < a.phones.size() && a.phones[first].word != static_cast<int>(word)) ++first;
  std::size_t end = first;
  while (end < a.phones.size() && a.phones[end].word == static_cast<int>(word)) ++end;
  return {first, end};
}

// The phones of a word stretched with it.
void stretch(Alignment& a, std::size_t word, Range to) {
  const Range from = a.words[word].range;
  const auto [first, end] = phones_of(a, word);
  const double share = from.empty() ? 1 : show::to_seconds(to.length()) / show::to_seconds(from.length());
  const auto moved = [&](Time t) { return to.begin + Time{std::llround(static_cast<double>((t - from.begin).count()) * share)}; };
  for (std::size_t p = first; p < end; ++p) a.phones[p].range = {moved(a.phones[p].range.begin), moved(a.phones[p].range.end)}, a.phones[p].confidence = 1;
  if (first < end) a.phones[first].range.begin = to.begin, a.phones[end - 1].range.end = to.end;
  a.words[word].range = to, a.words[word].confidence = 1, a.words[word].origin = Origin::given;
}

void fit_words(Alignment& a) {
  for (std::size_t w = 0; w < a.words.size(); ++w)
    if (const auto [first, end] = phones_of(a, w); first < end) a.words[w].range = {a.phones[first].range.begin, a.phones[end - 1].range.end};
}

// The neighbours with a time: of parts in rising time the one before and the one after; size() where there is none.
template <class Part>
std::pair<std::size_t, std::size_t> neighbours(const std::vector<Part>& parts, std::size_t index) noexcept {
  std::size_t before = index, after = index + 1;
  while (before > 0 && parts[before - 1].range.empty()) --before;
  while (after < parts.size() && parts[after].range.empty()) ++after;
  return {before > 0 ? before - 1 : parts.size(), after};
}

// Where an edge may go, and the other part that goes with it (size(): none).
struct Room { Time least, most; std::size_t with; };
template <class Part>
Room room(const std::vector<Part>& parts, std::size_t index, bool end, Time shortest, Time length) noexcept {
  const auto [before, after] = neighbours(parts, index);
  const Range own = parts[index].range;
  if (end) {
    const bool touches = after < parts.size() && parts[after].range.begin == own.end;
    const Time most = touches ? parts[after].range.end - shortest : after < parts.size() ? parts[after].range.begin : std::max(length, own.end);
    return {own.begin + shortest, most, touches ? after : parts.size()};
  }
  const bool touches = before < parts.size() && parts[before].range.end == own.begin;
  const Time least = touches ? parts[before].range.begin + shortest : before < parts.size() ? parts[before].range.end : Time{0};
  return {least, own.end - shortest, touches ? before : parts.size()};
}

template <class Part>
bool there(const std::vector<Part>& parts, std::size_t index) noexcept { return index < parts.size() && !parts[index].range.empty(); }

}  // namespace

Time time_of(const Alignment& a, const Boundary& b) noexcept {
  if (b.word ? b.index >= a.words.size() : b.index >= a.phones.size()) return Time{0};
  const Range range = b.word ? a.words[b.index].range : a.phones[b.index].range;
  return b.end ? range.end : range.begin;
}

Alignment with_boundary(const Alignment& alignment, const Boundary& b, Time to) {
  Alignment a = alignment;
  if (b.word ? !there(a.words, b.index) : !there(a.phones, b.index)) return a;
  const Room limits = b.word ? room(a.words, b.index, b.end, kLeastWord, a.length) : room(a.phones, b.index, b.end, kLeastPhone, a.length);
  if (limits.least > limits.most) return a;
  to = std::clamp(to, limits.least, limits.most);
  const auto moved = [&](Range range, bool end) { return end ? Range{range.begin, to} : Range{to, range.end}; };
  if (b.word) {
    stretch(a, b.index, moved(a.words[b.index].range, b.end));
    if (limits.with < a.words.size()) stretch(a, limits.with, moved(a.words[limits.with].range, !b.end));
    return a;
  }
  const auto set = [&](std::size_t p, bool end) {
    a.phones[p].range = moved(a.phones[p].range, end), a.phones[p].confidence = 1;
  };
  set(b.index, b.end);
  if (limits.with < a.phones.size()) set(limits.with, !b.end);
  fit_words(a);
  return a;
}

Range touched(const Alignment& a, const Boundary& b) noexcept {
  const auto around = [&](const auto& parts) -> Range {
    if (!there(parts, b.index)) return {};
    const auto [before, after] = neighbours(parts, b.index);
    return {before < parts.size() ? parts[before].range.begin : parts[b.index].range.begin, after < parts.size() ? parts[after].range.end : parts[b.index].range.end};
  };
  return b.word ? around(a.words) : around(a.phones);
}

Range room_of(const Alignment& a, std::size_t word) noexcept {
  if (word >= a.words.size()) return {};
  if (!a.words[word].range.empty()) return a.words[word].range;
  const auto [before, after] = neighbours(a.words, word);
  return {before < a.words.size() ? a.words[before].range.end : Time{0}, after < a.words.size() ? a.words[after].range.begin : a.length};
}

Alignment with_words(const Alignment& alignment, std::size_t word, std::size_t count, const Alignment& said, Time begin, Time end) {
  Alignment a;
  a.length = alignment.length, a.score_per_frame = alignment.score_per_frame, a.made_with = alignment.made_with;
  word = std::min(word, alignment.words.size()), count = std::min(count, alignment.words.size() - word);
  a.words.assign(alignment.words.begin(), alignment.words.begin() + static_cast<std::ptrdiff_t>(word));
  for (auto w : said.words) {
    w.range = {std::min(begin + w.range.begin, end), std::min(begin + w.range.end, end)};
    a.words.push_back(std::move(w));
  }
  a.words.insert(a.words.end(), alignment.words.begin() + static_cast<std::ptrdiff_t>(word + count), alignment.words.end());
  const auto shifted = [&](int w) { return w < static_cast<int>(word) ? w : w - static_cast<int>(count) + static_cast<int>(said.words.size()); };
  for (auto p : alignment.phones) {
    const bool gone = p.word >= static_cast<int>(word) && p.word < static_cast<int>(word + count);
    if (!gone) p.word = shifted(p.word), a.phones.push_back(std::move(p));
  }
  for (auto p : said.phones) {
    p.range = {begin + p.range.begin, std::min(begin + p.range.end, end)};
    if (p.range.empty()) continue;
    if (p.word >= 0) p.word += static_cast<int>(word);
    a.phones.push_back(std::move(p));
  }
  std::stable_sort(a.phones.begin(), a.phones.end(), [](const auto& x, const auto& y) { return x.range.begin < y.range.begin; });
  return a;
}

Alignment part_of(const Alignment& alignment, Range range) {
  Alignment part;
  part.length = std::max(Time{0}, range.length()), part.score_per_frame = alignment.score_per_frame;
  const auto within = [&](Range r) { return Range{std::max(r.begin, range.begin) - range.begin, std::min(r.end, range.end) - range.begin}; };
  std::vector<int> now(alignment.words.size(), -1);  // where each word is in the part
  for (std::size_t w = 0; w < alignment.words.size(); ++w) {
    Word word = alignment.words[w];
    const bool lost = word.range.empty();  // such a word has a place, and no more
    if (lost ? !range.contains(word.range.begin) : within(word.range).empty()) continue;
    word.range = lost ? Range{word.range.begin - range.begin, word.range.begin - range.begin} : within(word.range);
    now[w] = static_cast<int>(part.words.size());
    part.words.push_back(std::move(word));
  }
  for (Phone phone : alignment.phones) {
    phone.range = within(phone.range);
    if (phone.range.empty()) continue;
    phone.word = phone.word >= 0 && phone.word < static_cast<int>(now.size()) ? now[static_cast<std::size_t>(phone.word)] : -1;
    part.phones.push_back(std::move(phone));
  }
  return part;
}

Alignment moved(const Alignment& alignment, Time by, Time length) {
  Alignment all = alignment;
  for (Word& word : all.words) word.range = {word.range.begin + by, word.range.end + by};
  for (Phone& phone : all.phones) phone.range = {phone.range.begin + by, phone.range.end + by};
  all.length = length;
  return all;
}

}  // namespace mien::speech
