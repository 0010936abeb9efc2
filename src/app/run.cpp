#include <CLI/CLI.hpp>
#include <cstdio>

#include "app/commands.hpp"
#include "board/baked.hpp"
#include "show/rig.hpp"

namespace mien::app {
namespace {

/// Words for a command, its place on the command line, and what runs it: add a command by adding one of these to run().
template <class Words>
std::pair<CLI::App*, std::shared_ptr<Words>> add(CLI::App& app, int& exit_code, const char* name, const char* help, int (*run)(const Words&)) {
  const auto words = std::make_shared<Words>();
  auto* command = app.add_subcommand(name, help);
  command->callback([words, run, &exit_code] { exit_code = run(*words); });
  return {command, words};
}

void add_edit(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<EditWords>(app, exit_code, "edit", "Open the editor", run_edit);
  command->add_option("SHOW", words->show, "the show to open");
  command->add_option("--port", words->port, "connect at the start (nothing moves before you arm): sim:, tcp:HOST:PORT, or a serial device");
  command->add_option("--theme", words->theme, "dark or light")->check(CLI::IsMember({"dark", "light"}))->capture_default_str();
  command->add_option("--scale", words->scale, "size of everything in the window; 0: as the monitor asks")->check(CLI::Range(0.0, 4.0));
  command->add_option("--width", words->width, "of the window; 0: as fits the monitor")->check(CLI::Range(0, 16384));
  command->add_option("--height", words->height, "of the window; 0: as fits the monitor")->check(CLI::Range(0, 16384));
  command->add_flag("--mute", words->mute, "no sound");
  command->add_option("--journal", words->journal, "append a line for each command and change of state to this file");
}

void add_play(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<PlayWords>(app, exit_code, "play", "Perform a show without a window. This arms the link: servos on the port will move. Ctrl-C stops", run_play);
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_option("--port", words->port, "sim:, tcp:HOST:PORT, or a serial device")->capture_default_str();
  command->add_option("--for", words->for_s, "stop after this many seconds")->check(CLI::Range(0.0, 864000.0));
  command->add_flag("--loop", words->loop, "perform the show's loop (all of it, where it sets none) again and again");
  command->add_flag("--mute", words->mute, "no sound");
  command->add_flag("--json", words->json, "print nothing but one JSON object at the end");
}

void add_render(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<RenderWords>(app, exit_code, "render", "Write every tick of a show as CSV: target, setpoint and pulse of each actuator", run_render);
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_option("--out", words->out, "the CSV file to write; - for the terminal")->required();
  command->add_option("--for", words->for_s, "seconds to perform, looping where the show is shorter; 0: the show once")->check(CLI::Range(0.0, 864000.0));
}

void add_bake(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<BakeWords>(app, exit_code, "bake", "Make a show that boards perform with no computer, and store it on them", run_bake);
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_option("--out", words->out, "the file to write");
  command->add_option("--to", words->to, "store it on the boards of this port: tcp:HOST:PORT, or a serial device. They play it at their next power-on");
  command->add_option("--start", words->start, "power-on; input:N or input:N:low, when that input of board 0 changes to high or low; code:V or code:V:FIRST..LAST, when those inputs (0..3) say V in binary")->capture_default_str();
  command->add_flag("--loop", words->loop, "again and again");
  command->add_option("--pause", words->pause, "seconds between performances: 3, or 5..20 for a new draw each time")->capture_default_str();
  command->add_option("--idle", words->idle, "shows on the same rig as clips of idle life, played at random while the show does not")->expected(1, board::kMaxTracks - 1);
  command->add_option("--gap", words->gap, "seconds between clips of idle life: 3, or 2..7")->capture_default_str();
  command->add_flag("--apart", words->apart, "every board starts by itself; else board 0 leads the others along the chain");
  command->add_flag("--json", words->json, "print one JSON object");
}

void add_check(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<CheckWords>(app, exit_code, "check", "Tell what is wrong with a show or a rig, where, and what to do", run_check);
  command->add_option("FILE", words->file, "a show or a rig")->required();
  command->add_flag("--json", words->json, "print one JSON object");
}

void add_arrive(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<ArriveWords>(app, exit_code, "arrive", "Change the keys that the head can't follow, as little as it takes, so that it arrives on time", run_arrive);
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_option("--out", words->out, "the show to write; it may be the same file")->required();
  command->add_flag("--json", words->json, "print one JSON object");
}

void add_power(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<PowerWords>(app, exit_code, "power", "Tell what a show draws from each rail, when that is too much, and what supply, wire and fuse would do", run_power);
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_flag("--json", words->json, "print one JSON object");
}

void add_describe(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<DescribeWords>(app, exit_code, "describe", "Print a rig as a table: a row for each actuator, control or auxiliary", run_describe);
  command->add_option("RIG", words->rig, "the rig")->required();
  auto* csv = command->add_flag("--csv", words->csv, "comma-separated");
  auto* json = command->add_flag("--json", words->json, "an array of JSON objects")->excludes(csv);
  auto* controls = command->add_flag("--controls", words->controls, "the controls instead of the actuators");
  auto* auxiliaries = command->add_flag("--auxiliaries", words->auxiliaries, "lamps, fans and modules instead of the actuators")->excludes(controls);
  command->add_option("--wiring", words->wiring, "write the wiring sheet instead: an HTML file to print; - for the terminal")->excludes(csv)->excludes(json)->excludes(controls)->excludes(auxiliaries);
}

void add_keys(CLI::App& app, int& exit_code) {
  const auto [import, in] = add<ImportWords>(app, exit_code, "import", "Make a show from keyframes in CSV: channel,time_s,value,easing", run_import);
  import->add_option("KEYS", in->keys, "the CSV file")->required();
  import->add_option("--rig", in->rig, "the rig that the show is for")->required();
  import->add_option("--out", in->out, "the show to write")->required();
  const auto [command, out] = add<ExportWords>(app, exit_code, "export", "Write the keyframes of a show as CSV: channel,time_s,value,easing", run_export);
  command->add_option("SHOW", out->show, "the show")->required();
  command->add_option("--out", out->out, "the CSV file to write; - for the terminal")->required();
}

void add_board(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<BoardWords>(app, exit_code, "board", "Simulate the boards of a head as a process that a link reaches by tcp:HOST:PORT", run_board);
  command->add_option("--listen", words->listen, "HOST:PORT to listen on; port 0 takes a free one")->required();
  command->add_option("--boards", words->boards, "how many boards")->check(CLI::Range(1, show::kMaxBoards))->capture_default_str();
  command->add_flag("--state", words->state, "print what the boards would drive, a line a change");
  command->add_option("--baked", words->baked, "a file of mien bake: switched on with that show in their memories, the boards perform it until a host comes");
  command->add_option("--capture", words->capture, "append every byte received to this file");
}

void add_adopt(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<AdoptWords>(app, exit_code, "adopt", "Tell which boards a rig knows and which answer, and make those that answer its own. Nothing moves", run_adopt);
  command->add_option("RIG", words->rig, "the rig; it is written where a board is adopted")->required();
  command->add_option("--port", words->port, "sim:, tcp:HOST:PORT, or a serial device")->required();
  command->add_option("--board", words->board, "adopt no other than this board");
  command->add_flag("--yes", words->yes, "don't ask");
}

void add_align(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<AlignWords>(app, exit_code, "align", "Find when each word and phone of a text is heard in a sound", run_align);
  command->add_option("FILE", words->audio, "the sound")->required();
  command->add_option("--text", words->text, "what is said: plain text, WebVTT or SubRip; or labels to convert (.TextGrid, .lab, .tsv)")->required();
  command->add_option("--language", words->language, "of the text, as espeak-ng names it: en, de, fr, es, ...")->capture_default_str();
  command->add_option("--out", words->out, "the labels to write: NAME.TextGrid, NAME.lab (HTK), NAME.txt or NAME.tsv (tab-separated)")->required();
  command->add_flag("--words", words->words, "tab-separated labels of the words instead of the phones");
  command->add_flag("--json", words->json, "print one JSON object");
}

void add_speak(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<SpeakWords>(app, exit_code, "speak", "Make the mouth of a show speak a sound: place the sound, and write keys for jaw and lips", run_speak);
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_option("--audio", words->audio, "the sound")->required();
  command->add_option("--text", words->text, "what is said: plain text, WebVTT or SubRip; or labels (.TextGrid, .lab, .tsv). Without it the mouth follows the sound alone");
  command->add_option("--language", words->language, "of the text, as espeak-ng names it: en, de, fr, es, ...")->capture_default_str();
  command->add_option("--out", words->out, "the show to write; it may be the same file. The words and phones go beside it, SOUND.TextGrid")->required();
  command->add_option("--visemes", words->visemes, "what the mouth looks like for each sound; without it the table beside the rig, or one made from the rig's roles");
  command->add_option("--at", words->at, "where in the show the sound begins, in seconds; without it where the show has it already, else 0");
  command->add_option("--amount", words->amount, "of movement: 0.5 mumbles, 1.5 overdoes it; lips close all the same")->check(CLI::Range(0.0, 3.0))->capture_default_str();
  command->add_flag("--json", words->json, "print one JSON object");
}

void add_ports(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<PortsWords>(app, exit_code, "ports", "List the serial, MIDI and audio devices of this machine", run_ports);
  command->add_flag("--json", words->json, "print one JSON object");
}

}  // namespace

int tell(const show::Finding& finding) {
  std::fprintf(stderr, "%s\n", show::to_text(finding).c_str());
  return finding.severity == show::Severity::error ? kUnusable : finding.severity == show::Severity::warning ? kFindings : kFine;
}

int tell(const show::Findings& findings) {
  int worst = kFine;
  for (const auto& finding : findings) worst = std::max(worst, tell(finding));
  return worst;
}

int run(int count, char** words) {
  CLI::App app{
      "Mien writes, rehearses and performs the expressions of an animatronic head.\n"
      "Without a command it opens the editor.\n"
      "Exit codes: 0 fine, 1 findings, 2 unusable input.",
      "mien"};
  app.set_version_flag("--version", "Mien " MIEN_VERSION);
  app.require_subcommand(0, 1);
  int exit_code = kFine;
  for (auto add_command : {add_edit, add_play, add_render, add_bake, add_check, add_arrive, add_power, add_describe, add_keys, add_board, add_adopt, add_align, add_speak, add_ports}) add_command(app, exit_code);
  try {
    app.parse(count, words);
    if (app.get_subcommands().empty()) exit_code = run_edit({});
  } catch (const CLI::ParseError& problem) {
    return app.exit(problem) == 0 ? kFine : kUnusable;  // --help and --version come this way, too
  }
  return exit_code;
}

}  // namespace mien::app
