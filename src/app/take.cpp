// mien take: what was recorded, and into the show with it.
#include <cstdio>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "store/take_store.hpp"

namespace mien::app {
namespace {

std::size_t samples_of(const live::Take& take) {
  std::size_t count = 0;
  for (const auto& track : take.tracks) count += track.samples.size();
  return count;
}

int list_takes(const TakeWords& words, const std::vector<live::Take>& takes) {
  Json json;
  json.open_object().open_array("takes");
  for (const auto& take : takes) {
    const auto span = live::span_of(take);
    if (!words.json) std::printf("%s  %.2f to %.2f s, %zu controls, %zu samples\n", take.name.c_str(), show::to_seconds(span.begin), show::to_seconds(span.end), take.tracks.size(), samples_of(take));
    json.open_object().member("name", take.name).member("begin_s", show::to_seconds(span.begin)).member("end_s", show::to_seconds(span.end)).member("controls", double(take.tracks.size())).member("samples", double(samples_of(take))).close();
  }
  if (words.json) std::printf("%s\n", json.close().close().text().c_str());
  return kFine;
}

std::size_t keys_in(const show::Show& show) {
  std::size_t count = 0;
  for (const auto& channel : show.channels) count += channel->keys.size();
  for (const auto& layer : show.layers)
    for (const auto& channel : layer->channels) count += channel->keys.size();
  return count;
}

int into_show(const TakeWords& words, const std::vector<live::Take>& takes) {
  const std::size_t n = words.take ? static_cast<std::size_t>(words.take) - 1 : takes.size() - 1;
  if (n >= takes.size()) return tell(refused(words.file, "--take", "there is no take " + std::to_string(words.take), "It holds " + std::to_string(takes.size()) + ": 'mien take " + words.file + "' lists them."));
  return edit_show(words.show, words.out.empty() ? words.show : words.out, [&](Editing& e) -> show::Result<std::string> {
    const live::Take& take = takes[n];
    std::string unknown;
    for (const auto& track : take.tracks) {
      bool there = false;
      for (const auto& control : e.rig->controls) there |= control.name == track.control;
      if (!there) unknown = track.control;
    }
    if (!unknown.empty()) return refused(words.file, take.name, "moves '" + unknown + "', which is no control of the show's rig", "Use a show on the rig that it was recorded on.");
    const live::Keying keying{.error_share = words.error_percent / 100};
    const std::size_t before = keys_in(e.show);
    e.show = words.channels ? live::into_channels(e.show, *e.rig, take, keying) : live::into_layer(e.show, *e.rig, take, keying);
    const std::size_t after = keys_in(e.show), samples = samples_of(take);
    char text[200];
    std::snprintf(text, sizeof text, "%s is in %s: %zu samples, %zu keys%s", take.name.c_str(), words.channels ? "its channels" : ("layer '" + e.show.layers.back()->name + "'").c_str(), samples,
                  after > before ? after - before : std::size_t{0}, words.channels ? " more" : "");
    return std::string(text);
  });
}

}  // namespace

int run_take(const TakeWords& words) {
  const auto takes = store::load_takes(words.file);
  if (!takes) return tell(takes.problem());
  return words.show.empty() ? list_takes(words, *takes) : into_show(words, *takes);
}

}  // namespace mien::app
