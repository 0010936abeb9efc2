#include "talk/talk.hpp"

#include <algorithm>

#include "perform/speaking.hpp"
#include "show/layer_edit.hpp"
#include "speech/align.hpp"
#include "speech/alignment_edit.hpp"
#include "speech/envelope.hpp"

namespace mien::talk {
namespace {

using show::Time;

constexpr Time kAfter{1'200'000'000};  // a blink or glance that the last word ends with is over by then

show::Range within(show::Range range, const std::optional<show::Range>& only) {
  if (!only) return range;
  return {std::max(range.begin, only->begin), std::min(range.end, only->end)};
}

std::size_t keys_in(const std::vector<speech::Track>& tracks) {
  std::size_t keys = 0;
  for (const auto& track : tracks) keys += track.keys.size();
  return keys;
}

// Controls that the line's manner may have moved before and doesn't now lose their keys there.
void add_what_was(const show::Show& show, std::vector<speech::Track>& tracks) {
  const auto layer = show::find_layer(show, kMannerLayer);
  if (!layer) return;
  for (const auto& channel : layer->channels)
    if (std::none_of(tracks.begin(), tracks.end(), [&](const auto& t) { return t.control == channel->control; })) tracks.push_back({channel->control, {}});
}

}  // namespace

show::Range around(show::Range changed, Time start) { return {start + changed.begin - speech::kAround, start + changed.end + speech::kAround}; }

Talk speak(const show::Rig& rig, const show::Show& show, const speech::VisemeTable& table, const Line& line, const Style& style, show::Findings* notes) {
  Talk talk;
  const auto abilities = perform::abilities_of(rig, table);
  std::vector<speech::Track> mouth;
  if (line.alignment) {
    talk.alignment = *line.alignment;
    mouth = speech::mouth_of(talk.alignment, table, abilities, speech::levels_db(line.recording), style.mouth);
  } else {
    auto heard = speech::mouth_of_sound(line.recording, table, abilities, style.mouth);
    talk.alignment = std::move(heard.alignment), mouth = std::move(heard.tracks);
  }
  talk.alignment.length = std::max(talk.alignment.length, line.recording.length());
  const auto& phones = talk.alignment.phones;
  const Time first = phones.empty() ? Time{0} : phones.front().range.begin, last = phones.empty() ? line.recording.length() : phones.back().range.end;

  talk.show = show;
  talk.show.length = std::max(show.length, line.start + line.recording.length() + speech::kAround);
  const show::Range said{std::max(Time{0}, line.start + first - speech::kAround), line.start + last + speech::kAround};
  talk.show = speech::with_mouth(talk.show, mouth, line.start, within(said, line.only));
  talk.keys = keys_in(mouth), talk.channels = mouth.size();

  if (line.only) return talk;  // a correction is the mouth's: who blinks where is decided for a line as a whole
  std::vector<speech::Track> manner;
  if (style.delivery.any()) {
    const auto accents = talk.alignment.words.empty() ? std::vector<speech::Accent>{} : speech::accents_of(talk.alignment, line.recording);
    manner = speech::delivery_of(speech::phrases_of(talk.alignment), accents, perform::face_to_speak(rig), style.delivery, notes);
  }
  talk.manner_keys = keys_in(manner);
  add_what_was(show, manner);
  if (!manner.empty()) talk.show = speech::with_mouth(talk.show, manner, line.start, {said.begin, said.end + kAfter}, kMannerLayer, show::Layer::Blend::add);
  return talk;
}

speech::Alignment reworded(const speech::Recording& recording, const speech::Alignment& alignment, std::size_t word, const std::string& text, show::Findings& notes) {
  if (word >= alignment.words.size()) return alignment;
  const show::Range room = speech::room_of(alignment, word);
  if (text.find_first_not_of(" \t\n") == std::string::npos) return speech::with_words(alignment, word, 1, {}, room.begin, room.end);
  const auto at = [&](Time t) { return std::min(static_cast<std::size_t>(std::max(0.0, show::to_seconds(t)) * recording.rate_hz), recording.samples.size()); };
  speech::Recording part{recording.rate_hz, {recording.samples.begin() + static_cast<std::ptrdiff_t>(at(room.begin)), recording.samples.begin() + static_cast<std::ptrdiff_t>(std::max(at(room.begin), at(room.end)))}};
  auto said = speech::align(part, text, "", &notes);
  if (said) return speech::with_words(alignment, word, 1, *said, room.begin, room.end);
  notes.push_back({show::Severity::warning, "", "word '" + text + "'", "it can't be found in the sound there: " + said.problem().what, "Its phones stay as they were: move their edges, or look at the text again."});
  speech::Alignment kept = alignment;
  kept.words[word].text = text, kept.words[word].confidence = 0, kept.words[word].origin = room.empty() || alignment.words[word].range.empty() ? speech::Origin::missing : speech::Origin::given;
  return kept;
}

namespace {

template <class Keys>
Keys moved(const Keys& keys, show::Range range, Time by, Time length) {
  Keys all;
  for (const auto& key : keys)
    if (!range.contains(key.time) && !(range.contains(key.time - by))) all.push_back(key);
  for (auto key : keys)
    if (range.contains(key.time)) {
      key.time += by;
      if (key.time >= Time{0} && key.time <= length) all.push_back(key);
    }
  std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.time < b.time; });
  return all;
}

}  // namespace

show::Show with_line_moved(const show::Show& show, show::Range line, Time by) {
  show::Show after = show;
  if (by == Time{0}) return after;
  for (const char* name : {speech::kSpeechLayer, kMannerLayer}) {
    const auto known = show::find_layer(show, name);
    if (!known) continue;
    const show::Range range{line.begin - speech::kAround, line.end + (name == std::string(kMannerLayer) ? kAfter : speech::kAround) + Time{1}};
    show::Layer layer = *known;
    for (auto& channel : layer.channels) channel = std::make_shared<const show::Channel>(show::Channel{channel->control, moved(channel->keys, range, by, show.length)});
    layer.weight_curve = moved(layer.weight_curve, range, by, show.length);
    after = show::with_layer(after, std::move(layer));
  }
  return after;
}

}  // namespace mien::talk
