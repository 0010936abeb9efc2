// mien render: every tick of a show as a table, faster than time.
#include <algorithm>
#include <charconv>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <memory>
#include <string_view>
#include <system_error>

#include "app/commands.hpp"
#include "app/hands.hpp"
#include "app/text.hpp"
#include "link/session.hpp"
#include "perform/render.hpp"
#include "perform/rig_check.hpp"
#include "show/text.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

using File = std::unique_ptr<std::FILE, int (*)(std::FILE*)>;

std::string header(const show::Rig& rig) {
  std::string line = "time_s";
  for (const auto& a : rig.actuators)
    for (const char* what : {".target_deg", ".setpoint_deg", ".pulse_us"}) line += ',' + csv_field(a.name + what);
  return line + '\n';
}

// Pulses are whole sixteenths, so their decimals are known: a third of a long table needs no conversion of doubles.
void append_pulse_us(std::string& out, std::uint16_t pulse) {
  static_assert(link::kPulseUnitsPerUs == 16);
  static constexpr std::string_view kSixteenths[] = {"",    ".0625", ".125", ".1875", ".25", ".3125", ".375", ".4375",
                                                     ".5",  ".5625", ".625", ".6875", ".75", ".8125", ".875", ".9375"};
  char whole[8];
  out.append(whole, std::to_chars(whole, whole + sizeof whole, pulse / 16).ptr).append(kSixteenths[pulse % 16]);
}

void append_row(std::string& out, const perform::Plan& plan, const perform::Tick& tick) {
  append_number(out, show::to_seconds(tick.time));
  for (int a = 0; a < plan.actuators(); ++a) {
    const auto i = static_cast<std::size_t>(a);
    append_number(out += ',', tick.target_deg[i]);
    append_number(out += ',', tick.setpoint_deg[i]);
    append_pulse_us(out += ',', perform::pulse_of(plan, a, tick.setpoint_deg[i]));
  }
  out += '\n';
}

// "1.5:hello" starts, "4:-hello" releases.
show::Result<std::vector<perform::CueCall>> calls_for(const std::vector<std::string>& texts, const show::Show& show, const std::string& file) {
  std::vector<perform::CueCall> calls;
  for (const std::string& text : texts) {
    const std::size_t colon = text.find(':');
    const auto time = show::parse_seconds(std::string_view(text).substr(0, colon));
    if (colon == text.npos || !time || *time < show::Time{0})
      return show::Finding{show::Severity::error, "", "--cue-at", "'" + text + "' names no time and cue", "Give seconds, a colon and a cue, as in 1.5:hello."};
    const std::string said = text.substr(colon + 1);
    int cue = show::cue_index(show.cues, said);
    const bool start = cue >= 0;
    if (!start && said.starts_with('-')) cue = show::cue_index(show.cues, said.substr(1));
    std::vector<std::string> known;
    for (const auto& each : show.cues) known.push_back(each.name);
    if (cue < 0) return show::Finding{show::Severity::error, file, "--cue-at", "the show has no cue '" + said + "'", known.empty() ? "Add it with 'mien cue add'." : show::suggestion(said, known)};
    calls.push_back({time->count(), cue, start});
  }
  std::stable_sort(calls.begin(), calls.end(), [](const auto& a, const auto& b) { return a.at_ns < b.at_ns; });
  return calls;
}

show::Finding cannot_write(const std::string& file) {
  return {show::Severity::error, file, "", std::string("the table can't be written: ") + std::generic_category().message(errno),
          "Give --out a file in a folder that you may write to, on a disk with room"};
}

int render(const RenderWords& all) {
  const std::string& show_file = all.show;
  const std::string& out_file = all.out;
  const HandWords& words = all.hands;
  auto loaded = store::load_show(show_file);
  if (!loaded) return tell(loaded.problem());
  const auto refused = perform::refusal(*loaded->rig, store::rig_path(show_file, *loaded->show).string(), loaded->notes);
  tell(loaded->notes);
  if (refused) return tell(*refused);
  if (const auto why = senseless(words)) return tell(*why);
  Hands hands;
  if (!words.map.empty()) {
    live::Inlet none;
    live::Devices devices(none, {});
    auto made = hands_for(words, loaded->rig, loaded->show, devices);
    if (!made) return tell(made.problem());
    tell(made->notes);
    hands = std::move(*made);
  }
  if (all.cues && all.for_s <= 0) return tell({show::Severity::error, "", "--for", "is not given, and cues have no end of their own", "Give --for a length in seconds."});
  auto calls = calls_for(all.cue_at, *loaded->show, show_file);
  if (!calls) return tell(calls.problem());
  const auto plan = perform::compile(loaded->rig, loaded->show, nullptr, hands.program);
  const bool to_terminal = out_file == "-";
  const File file(to_terminal ? stdout : std::fopen(out_file.c_str(), "wb"), to_terminal ? [](std::FILE* f) { return std::fflush(f); } : std::fclose);
  if (!file) return tell(cannot_write(out_file));

  std::string text = header(*plan->rig);
  bool written = true;
  const auto flush = [&](std::size_t beyond) {
    if (text.size() <= beyond) return written;
    written = std::fwrite(text.data(), 1, text.size(), file.get()) == text.size();
    text.clear();
    return written;
  };
  const perform::Rehearsal rehearsal{.length = show::from_seconds(all.for_s), .touches = hands.script, .calls = *calls, .stands = all.cues};
  perform::render(*plan, rehearsal, [&](const perform::Tick& tick) {
    append_row(text, *plan, tick);
    return flush(1 << 20);
  });
  if (!flush(0) || std::fflush(file.get()) != 0) return tell(cannot_write(out_file));
  return kFine;
}

}  // namespace

int run_render(const RenderWords& words) { return render(words); }

}  // namespace mien::app
