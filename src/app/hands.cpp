#include "app/hands.hpp"

#include <algorithm>

#include "live/script.hpp"
#include "show/text.hpp"
#include "store/disk.hpp"
#include "store/map_store.hpp"

namespace mien::app {
namespace {

constexpr std::uintmax_t kLargestScript = 64u << 20;
constexpr const char* kScriptDevice = "script";

}  // namespace

std::optional<show::Finding> senseless(const HandWords& words) {
  if (!words.map.empty() || (words.midi.empty() && words.script.empty() && words.record.empty())) return std::nullopt;
  const char* option = !words.midi.empty() ? "--midi" : !words.script.empty() ? "--hands-script" : "--record";
  return show::Finding{show::Severity::error, "", option, "says what hands do, but there are none", "Give --hands a map, as in --hands shows/keeper.map.json"};
}

show::Result<std::vector<std::string>> spared(const HandWords& words, const show::Rig& rig) {
  std::vector<std::string> all, left;
  for (const auto& control : rig.controls) all.push_back(control.name);
  if (words.record_only.empty()) return left;
  if (words.record.empty()) return show::Finding{show::Severity::error, "", "--record-only", "says what is recorded, but nothing is", "Name the file for it: --record NAME.take.json"};
  left = all;
  for (std::size_t begin = 0; begin <= words.record_only.size();) {
    const std::size_t end = std::min(words.record_only.find(',', begin), words.record_only.size());
    const std::string name = words.record_only.substr(begin, end - begin);
    if (std::find(all.begin(), all.end(), name) == all.end()) return show::Finding{show::Severity::error, "", "--record-only", "the rig has no control '" + name + "'", show::suggestion(name, all, "The rig has no controls: give it one of this name.")};
    std::erase(left, name);
    begin = end + 1;
  }
  return left;
}

show::Result<Hands> hands_for(const HandWords& words, std::shared_ptr<const show::Rig> rig, show::ShowPtr show, live::Devices& devices) {
  Hands hands{};
  if (!words.map.empty()) {
    auto loaded = store::load_map(words.map, *rig, show.get());
    if (!loaded) return loaded.problem();
    hands.map = std::move(loaded->map), hands.notes = std::move(loaded->notes);
  }
  live::know_controls(*rig, hands.addresses);
  live::know_addresses(hands.map, hands.addresses);
  for (const auto& knob : hands.map.knobs)
    if (!knob.source.device.empty()) devices.number_of(knob.source.device);
  for (const auto& trigger : hands.map.triggers)
    if (!trigger.source.device.empty()) devices.number_of(trigger.source.device);
  if (!words.script.empty()) {
    const auto text = store::read_file(words.script, kLargestScript);
    if (!text) return text.problem();
    const int device = devices.number_of(kScriptDevice);
    if (device < 0) return show::Finding{show::Severity::error, words.map, "", "names more devices than can be heard at once", "Name at most 15 besides the script."};
    auto script = live::parse_script(*text, words.script, device, hands.addresses);
    if (!script) return script.problem();
    hands.script = std::move(*script);
  }
  hands.program = live::compile(hands.map, std::move(rig), std::move(show), devices.names(), hands.addresses);
  return hands;
}

}  // namespace mien::app
