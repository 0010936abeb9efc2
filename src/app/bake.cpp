// mien bake: a show for boards that perform with no host.
#include <charconv>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <optional>
#include <system_error>

#include "app/commands.hpp"
#include "app/interrupt.hpp"
#include "app/text.hpp"
#include "board/baked.hpp"
#include "link/store_baked.hpp"
#include "perform/bake.hpp"
#include "perform/rig_check.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

constexpr double kFlash_bytes = (2048 - 260) * 1024.0;  // of 2 MB, what program and identity leave free

show::Finding bad_word(const char* option, const std::string& given, const char* cure) {
  return {show::Severity::error, "", option, "'" + given + "' is not understood", cure};
}

/// "2..7" or "3": seconds from 0 to a day.
std::optional<show::Range> parse_range(const std::string& text) {
  const auto dots = text.find("..");
  const std::string parts[] = {text.substr(0, dots), dots == std::string::npos ? text : text.substr(dots + 2)};
  double seconds[2];
  for (int i = 0; i < 2; ++i) {
    const char* end = parts[i].data() + parts[i].size();
    const auto [stop, error] = std::from_chars(parts[i].data(), end, seconds[i]);
    if (error != std::errc{} || stop != end || !(seconds[i] >= 0 && seconds[i] <= 86'400)) return std::nullopt;
  }
  if (seconds[0] > seconds[1]) return std::nullopt;
  return show::Range{show::from_seconds(seconds[0]), show::from_seconds(seconds[1])};
}

std::optional<int> parse_int(std::string_view text, int most) {
  int value = 0;
  const auto [stop, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc{} && stop == text.data() + text.size() && value >= 0 && value <= most ? std::optional(value) : std::nullopt;
}

/// "power-on", "input:N", "input:N:low", "code:V" or "code:V:FIRST..LAST".
bool parse_start(const std::string& text, perform::BakeSettings& settings) {
  if (text == "power-on") return true;
  const auto colon = text.find(':'), second = colon == std::string::npos ? colon : text.find(':', colon + 1);
  if (colon == std::string::npos) return false;
  const std::string kind = text.substr(0, colon), more = second == std::string::npos ? "" : text.substr(second + 1);
  const auto number = parse_int(std::string_view(text).substr(colon + 1, second == std::string::npos ? second : second - colon - 1), 0xFFFF);
  if (!number) return false;
  if (kind == "input") {
    if (*number >= wire::kMaxInputs || (more != "low" && !more.empty())) return false;
    settings.start_mask = static_cast<std::uint16_t>(1u << *number);
    settings.start_value = more == "low" ? std::uint16_t{0} : settings.start_mask;
    return true;
  }
  std::optional<int> first = 0, last = 3;
  if (const auto dots = more.find(".."); !more.empty()) {
    if (dots == std::string::npos) return false;
    first = parse_int(std::string_view(more).substr(0, dots), wire::kMaxInputs - 1);
    last = parse_int(std::string_view(more).substr(dots + 2), wire::kMaxInputs - 1);
  }
  if (kind != "code" || !first || !last || *first > *last || *number >> (*last - *first + 1) != 0) return false;
  settings.start_mask = static_cast<std::uint16_t>(((2u << (*last - *first)) - 1) << *first);
  settings.start_value = static_cast<std::uint16_t>(*number << *first);
  return true;
}

show::Result<perform::BakeSettings> settings_of(const BakeWords& words) {
  perform::BakeSettings settings;
  settings.loop = words.loop;
  settings.apart = words.apart;
  const auto pause = parse_range(words.pause), gap = parse_range(words.gap);
  if (!pause) return bad_word("--pause", words.pause, "Give seconds, as in 3 or 5..20");
  if (!gap) return bad_word("--gap", words.gap, "Give seconds, as in 3 or 2..7");
  if (!parse_start(words.start, settings))
    return bad_word("--start", words.start, "Say power-on, input:N, input:N:low, code:V or code:V:FIRST..LAST, with inputs from 0 to 15");
  settings.pause = *pause;
  settings.gap = *gap;
  return settings;
}

struct Baking {
  perform::PlanPtr show;
  std::vector<perform::PlanPtr> idle;
};

/// Loads everything, and tells of what it finds on the way.
show::Result<Baking> plans_of(const BakeWords& words) {
  Baking all;
  for (std::size_t i = 0; i <= words.idle.size(); ++i) {
    const std::string& file = i == 0 ? words.show : words.idle[i - 1];
    auto loaded = store::load_show(file);
    if (!loaded) return loaded.problem();
    const auto refused = perform::refusal(*loaded->rig, store::rig_path(file, *loaded->show).string(), loaded->notes);
    tell(loaded->notes);
    if (refused) return *refused;
    if (i > 0 && *loaded->rig != *all.show->rig)
      return show::Finding{show::Severity::error, file, "rig", "It is for another rig than " + words.show, "Write idle life on the same rig as the show"};
    auto plan = perform::compile(i == 0 ? loaded->rig : all.show->rig, loaded->show);
    if (i == 0) all.show = std::move(plan);
    else all.idle.push_back(std::move(plan));
  }
  return all;
}

std::optional<show::Finding> write(const std::string& file, const perform::Bake& bake) {
  std::ofstream out(file, std::ios::binary | std::ios::trunc);
  for (const auto& board : bake.boards) out.write(reinterpret_cast<const char*>(board.image.data()), static_cast<std::streamsize>(board.image.size()));
  out.close();
  if (out) return std::nullopt;
  return show::Finding{show::Severity::error, file, "", std::string("The baked show can't be written: ") + std::generic_category().message(errno),
                       "Give --out a file in a folder that you may write to, on a disk with room"};
}

double flash_s(const perform::Bake& bake, const perform::BakedBoard& board) {
  return bake.seconds * kFlash_bytes / static_cast<double>(board.image.size());
}

/// As long as the fullest board's flash holds.
double whole_head_s(const perform::Bake& bake) {
  double least = 0;
  for (const auto& board : bake.boards) least = least == 0 ? flash_s(bake, board) : std::min(least, flash_s(bake, board));
  return least;
}

double per_actuator_second(const perform::Bake& bake, const perform::BakedBoard& board) {
  return board.actuators > 0 && bake.seconds > 0 ? static_cast<double>(board.image.size()) / board.actuators / bake.seconds : 0;
}

void print_bake_json(const perform::Bake& bake, const BakeWords& words) {
  Json json;
  json.open_object().member("show", words.show).member("seconds", bake.seconds).member("ticks", double(bake.ticks)).member("bytes", double(bake.bytes()))
      .member("actuators", double(bake.actuators)).member("baked_bytes_per_actuator_second", bake.bytes_per_actuator_second())
      .member("flash_2mb_s", whole_head_s(bake)).member("stored", !words.to.empty()).open_array("boards");
  for (const auto& board : bake.boards)
    json.open_object().member("board", board.name).member("address", double(board.address)).member("actuators", double(board.actuators))
        .member("bytes", double(board.image.size())).member("bytes_per_actuator_second", per_actuator_second(bake, board))
        .member("flash_2mb_s", flash_s(bake, board)).close();
  json.close().open_array("findings");
  for (const auto& note : bake.notes) append(json, note);
  std::printf("%s\n", json.close().close().text().c_str());
}

std::string with_decimals(double value, int decimals) {
  char text[32];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

void print_bake(const perform::Bake& bake, const BakeWords& words) {
  Table table{{"board", "address", "actuators", "bytes", "bytes per actuator and second", "2 MB of flash hold"}};
  for (const auto& board : bake.boards)
    table.push_back({board.name, std::to_string(board.address), std::to_string(board.actuators), std::to_string(board.image.size()),
                     with_decimals(per_actuator_second(bake, board), 1), with_decimals(flash_s(bake, board) / 60, 0) + " min"});
  std::printf("%s", aligned(table).c_str());
  std::printf("%s s baked: %zu bytes, %s per actuator and second; boards with 2 MB of flash hold %s minutes of the whole head\n",
              with_decimals(bake.seconds, 2).c_str(), bake.bytes(), with_decimals(bake.bytes_per_actuator_second(), 1).c_str(), with_decimals(whole_head_s(bake) / 60, 0).c_str());
  if (!words.to.empty()) std::printf("Stored. The boards play it when they are next switched on: keep fingers, hair and tools clear of the head.\n");
}

std::optional<show::Finding> store_on_boards(const perform::Bake& bake, const BakeWords& words) {
  std::vector<link::BakedImage> images;
  for (const auto& board : bake.boards) images.push_back({board.name, board.address, board.image});
  int shown = -1;
  return link::store_baked(words.to, images, interrupt(), [&](std::size_t done, std::size_t of) {
    const int percent = static_cast<int>(100 * done / of);
    if (!words.json && percent / 10 != shown / 10) std::fprintf(stderr, "stored %d %%\n", shown = percent);
  });
}

int bake(const BakeWords& words) {
  if (words.out.empty() && words.to.empty())
    return tell({show::Severity::error, "", "", "Nowhere to put the baked show", "Give --out FILE, --to PORT, or both"});
  const auto settings = settings_of(words);
  if (!settings) return tell(settings.problem());
  const auto plans = plans_of(words);
  if (!plans) return tell(plans.problem());
  const auto bake = perform::bake(*plans->show, plans->idle, *settings);
  if (!bake) return tell(bake.problem());
  const int code = words.json ? kFine : tell(bake->notes);
  if (!words.out.empty())
    if (const auto problem = write(words.out, *bake)) return tell(*problem);
  if (!words.to.empty())
    if (const auto problem = store_on_boards(*bake, words)) return tell(*problem);
  (words.json ? print_bake_json : print_bake)(*bake, words);
  return code;
}

}  // namespace

int run_bake(const BakeWords& words) { return bake(words); }

}  // namespace mien::app
