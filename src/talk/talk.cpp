#include "talk/talk.hpp"

#include <algorithm>
#include <sstream>

#include "perform/speaking.hpp"
#include "motion/curve.hpp"
#include "show/layer_edit.hpp"
#include "show/text.hpp"
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

namespace {

// From where all moves of a channel that a range touches have begun, to where they are over: a gesture is made anew whole, or not at all.
show::Range whole_gestures(show::Range range, const std::vector<show::Keyframe>& keys, double rest) {
  for (std::size_t first = 0; first + 1 < keys.size();) {
    std::size_t last = first + 1;
    while (last + 1 < keys.size() && keys[last].value != rest) ++last;
    const bool moves = last > first + 1 || keys[first].value != rest || keys[last].value != rest;
    if (moves && keys[first].time < range.end && keys[last].time >= range.begin) range = {std::min(range.begin, keys[first].time), std::max(range.end, keys[last].time + Time{1})};
    first = last;
  }
  return range;
}

show::Range whole_gestures(show::Range range, const show::Rig& rig, const show::Show& show, const speech::Track& track, Time start) {
  double rest = 0;
  for (const auto& control : rig.controls)
    if (control.name == track.control) rest = control.rest;
  auto made = track.keys;
  for (auto& key : made) key.time += start;
  std::vector<show::Keyframe> was;
  if (const auto layer = show::find_layer(show, kMannerLayer))
    for (const auto& channel : layer->channels)
      if (channel->control == track.control) was = channel->keys;
  for (;;) {
    const show::Range wider = whole_gestures(whole_gestures(range, was, rest), made, rest);
    if (wider == range) return range;
    range = wider;
  }
}

}  // namespace

std::string to_text(const Style& s) {
  const auto part = [](const char* name, double value) { return std::string(name) + " " + show::number_text(value) + " "; };
  return part("mouth", s.mouth.amount) + part("emphasis", s.mouth.emphasis) + part("brows", s.delivery.brows) + part("head", s.delivery.head) + part("blinks", s.delivery.blinks) +
         part("gaze", s.delivery.gaze) + "seed " + std::to_string(s.delivery.seed);
}

std::optional<Style> parse_style(std::string_view text) {
  Style style;
  struct Field { const char* name; double* value; double most; };
  double seed = 1;
  const Field fields[] = {{"mouth", &style.mouth.amount, kMostMouth}, {"emphasis", &style.mouth.emphasis, kMostMouth}, {"brows", &style.delivery.brows, speech::kMostDelivery},
                          {"head", &style.delivery.head, speech::kMostDelivery}, {"blinks", &style.delivery.blinks, 1}, {"gaze", &style.delivery.gaze, speech::kMostDelivery}, {"seed", &seed, 4294967295.0}};
  std::istringstream words{std::string(text)};
  for (const Field& f : fields) {
    std::string name, number;
    if (!(words >> name >> number) || name != f.name) return std::nullopt;
    const auto value = show::parse_number(number);
    if (!value) return std::nullopt;
    *f.value = std::clamp(*value, 0.0, f.most);
  }
  style.delivery.seed = static_cast<std::uint32_t>(seed);
  return style;
}

Talk speak(const show::Rig& rig, const show::Show& show, const speech::VisemeTable& table, const Line& line, const Style& style, show::Findings* notes) {
  Talk talk;
  const auto abilities = perform::abilities_of(rig, table);
  // What isn't heard is as if it weren't there: from here on all times count from the beginning of what is.
  const Time length = line.recording.length();
  const show::Range heard = line.heard.value_or(show::Range{Time{0}, length});
  const bool cut = heard.begin > Time{0} || heard.end < length;
  const speech::Recording part = cut ? speech::part_of(line.recording, heard) : speech::Recording{};
  const speech::Recording& recording = cut ? part : line.recording;
  const Time start = line.start + (cut ? heard.begin : Time{0});
  speech::Alignment spoken;
  std::vector<speech::Track> mouth;
  if (line.alignment) {
    talk.alignment = *line.alignment;
    spoken = cut ? speech::part_of(talk.alignment, heard) : talk.alignment;
    mouth = speech::mouth_of(spoken, table, abilities, speech::levels_db(recording), style.mouth);
  } else {
    auto alone = speech::mouth_of_sound(recording, table, abilities, style.mouth);
    spoken = std::move(alone.alignment), mouth = std::move(alone.tracks);
    talk.alignment = cut ? speech::moved(spoken, heard.begin, length) : spoken;
  }
  talk.alignment.length = std::max(talk.alignment.length, length);
  if (!line.only) talk.alignment.made_with = to_text(style);
  const auto& phones = spoken.phones;
  const Time first = phones.empty() ? Time{0} : phones.front().range.begin, last = phones.empty() ? recording.length() : phones.back().range.end;

  talk.show = show;
  talk.show.length = std::max(show.length, start + recording.length() + speech::kAround);
  const show::Range said{std::max(Time{0}, start + first - speech::kAround), start + last + speech::kAround};
  talk.show = speech::with_mouth(talk.show, mouth, start, within(said, line.only));
  talk.keys = keys_in(mouth), talk.channels = mouth.size();

  // A correction makes no manner where the show has none.
  if (line.only && !show::find_layer(show, kMannerLayer)) return talk;
  std::vector<speech::Track> manner;
  if (style.delivery.any()) {
    const auto accents = spoken.words.empty() ? std::vector<speech::Accent>{} : speech::accents_of(spoken, recording);
    manner = speech::delivery_of(speech::phrases_of(spoken), accents, perform::face_to_speak(rig), style.delivery, line.only ? nullptr : notes);
  }
  talk.manner_keys = keys_in(manner);
  add_what_was(show, manner);
  const show::Range around{said.begin, said.end + kAfter};
  if (!line.only && !manner.empty()) talk.show = speech::with_mouth(talk.show, manner, start, around, kMannerLayer, show::Layer::Blend::add);
  // Each control for itself, for their gestures begin and end at times of their own.
  for (const auto& track : manner)
    if (line.only) talk.show = speech::with_mouth(talk.show, {&track, 1}, start, whole_gestures(within(around, line.only), rig, show, track, start), kMannerLayer, show::Layer::Blend::add);
  return talk;
}

speech::Alignment reworded(const speech::Recording& recording, const speech::Alignment& alignment, std::size_t word, const std::string& text, show::Findings& notes) {
  if (word >= alignment.words.size()) return alignment;
  const show::Range room = speech::room_of(alignment, word);
  if (text.find_first_not_of(" \t\n") == std::string::npos) return speech::with_words(alignment, word, 1, {}, room.begin, room.end);
  auto said = speech::align(speech::part_of(recording, room), text, "", &notes);
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

namespace {

// What of a range none of the others covers, in rising time.
std::vector<show::Range> uncovered(show::Range range, const std::vector<show::Range>& others) {
  std::vector<show::Range> left{range};
  for (const show::Range& other : others) {
    std::vector<show::Range> less;
    for (const show::Range& r : left) {
      const show::Range before{r.begin, std::min(r.end, other.begin)}, after{std::max(r.begin, other.end), r.end};
      if (other.empty() || other.end <= r.begin || other.begin >= r.end) { less.push_back(r); continue; }
      if (!before.empty()) less.push_back(before);
      if (!after.empty()) less.push_back(after);
    }
    left = std::move(less);
  }
  return left;
}

bool has_keys(const show::Layer& layer, show::Range range) {
  return std::any_of(layer.channels.begin(), layer.channels.end(), [&](const auto& channel) {
    const auto key = std::lower_bound(channel->keys.begin(), channel->keys.end(), range.begin, [](const show::Keyframe& k, Time t) { return k.time < t; });
    return key != channel->keys.end() && key->time < range.end;
  });
}

}  // namespace

show::Show with_line_heard(const show::Show& show, show::Range line, show::Range was, show::Range now, const std::vector<show::Range>& others) {
  show::Show after = show;
  for (const char* name : {speech::kSpeechLayer, kMannerLayer}) {
    const auto layer = show::find_layer(show, name);
    if (!layer) continue;
    const Time behind = speech::kAround + (name == std::string(kMannerLayer) ? kAfter : Time{0});
    const show::Range moves{line.begin - speech::kAround, line.end + behind};
    // On again it is as it is where it was heard all the time, which a person may have set.
    double heard = 0;
    const show::Channel curve{"", layer->weight_curve};
    for (Time t = std::max(was.begin, line.begin); t < std::min(was.end, line.end); t += speech::kFade / 4) heard = std::max(heard, motion::evaluate(curve, t, layer->weight));
    const double on = heard > 0 ? heard : layer->weight > 0 || layer->weight_curve.empty() ? layer->weight : 1;
    const auto put = [&](show::Range range, double level) {
      range = {std::max(range.begin, moves.begin), std::min(range.end, moves.end)};
      for (const show::Range& r : uncovered(range, others))
        if (has_keys(*layer, r)) after = speech::with_weight(after, r, level, name);
    };
    if (now.end < was.end) put({now.end, was.end + behind}, 0);
    if (now.begin > was.begin) put({was.begin - speech::kAround, now.begin}, 0);
    if (now.end > was.end) put({was.end, now.end + behind}, on);
    if (now.begin < was.begin) put({now.begin - speech::kAround, was.begin}, on);
  }
  return after;
}

show::Show with_sound(const show::Show& show, std::size_t sound, const show::Sound& now, const std::vector<Time>& lengths, const speech::Alignment* alignment) {
  show::Show after = show;
  if (sound >= show.sounds.size()) return after;
  const show::Sound& was = show.sounds[sound];
  const auto heard = [&](std::size_t n, const show::Sound& s) {
    const show::Range range = show::heard_of(s, n < lengths.size() ? lengths[n] : Time{0});
    return show::Range{s.start, s.start + range.length()};
  };
  const Time zero = was.start - was.trim, by = now.start - now.trim - zero;
  if (alignment && !alignment->phones.empty()) after = with_line_moved(after, {zero + alignment->phones.front().range.begin, zero + alignment->phones.back().range.end}, by);
  const show::Range before = heard(sound, was), then = heard(sound, now);
  const bool trimmed = was.trim != now.trim || was.trim_end != now.trim_end;
  if (trimmed && sound < lengths.size() && lengths[sound] > Time{0}) {
    std::vector<show::Range> others;
    for (std::size_t n = 0; n < show.sounds.size(); ++n)
      if (n != sound) others.push_back(heard(n, show.sounds[n]));
    // Without its words the line is taken to be all of the sound.
    const Time moved_zero = zero + by;
    show::Range line{moved_zero, moved_zero + lengths[sound]};
    if (alignment && !alignment->phones.empty()) line = {moved_zero + alignment->phones.front().range.begin, moved_zero + alignment->phones.back().range.end};
    after = with_line_heard(after, line, {before.begin + by, before.end + by}, then, others);
  }
  after.sounds[sound] = now;
  return after;
}

std::optional<show::Finding> no_voice(const speech::Recording& recording, show::Range heard, const std::string& file) {
  if (!recording.samples.empty() && heard.empty())
    return show::Finding{show::Severity::error, file, "", "the show plays nothing of it: its trims leave nothing", "Leave less of it out, then let it be spoken again."};
  const bool whole = heard.begin <= Time{0} && heard.end >= recording.length();
  const speech::Recording part = whole ? speech::Recording{} : speech::part_of(recording, heard);
  const speech::Recording& what = whole ? recording : part;
  return speech::no_voice(what, speech::levels_db(what), file);
}

}  // namespace mien::talk
