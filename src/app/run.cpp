#include <CLI/CLI.hpp>

#include "app/commands.hpp"
#include "board/baked.hpp"
#include "live/follower.hpp"
#include "live/sacn.hpp"
#include "show/cue.hpp"
#include "show/rig.hpp"
#include "speech/delivery.hpp"

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
  command->add_option("--theme", words->theme, "dark, light or system, instead of what the settings say")->check(CLI::IsMember({"dark", "light", "system"}));
  command->add_option("--scale", words->scale, "size of everything in the window; 0: as the monitor asks")->check(CLI::Range(0.0, 4.0));
  command->add_option("--width", words->width, "of the window; 0: as fits the monitor")->check(CLI::Range(0, 16384));
  command->add_option("--height", words->height, "of the window; 0: as fits the monitor")->check(CLI::Range(0, 16384));
  command->add_flag("--mute", words->mute, "no sound");
  command->add_option("--journal", words->journal, "append a line for each command and change of state to this file");
}

void add_hands(CLI::App* command, HandWords& words) {
  command->add_option("--hands", words.map, "play on top of the show by hand: a map of what knobs and keys do, NAME.map.json");
  command->add_option("--hands-script", words.script, "touches from a file besides those of devices; a line each, as in: 0.5 B0 07 40");
}

void add_network(CLI::App* command, NetworkWords& words) {
  command->add_option("--osc", words.osc, "listen to OSC on this UDP port (0 takes a free one): other machines can then move the head")->check(CLI::Range(0, 65535));
  command->add_option("--osc-bind", words.osc_bind, "this machine's address to listen on; 0.0.0.0: all of them")->capture_default_str();
  command->add_option("--osc-may", words.osc_may, "what OSC may touch")->capture_default_str();
  command->add_option("--sacn", words.sacn, "listen to this universe of sACN, 1 to 63999")->check(CLI::Range(1, live::kMostUniverse));
  command->add_option("--sacn-bind", words.sacn_bind, "this machine's address to listen on, by which the universe's group is joined")->capture_default_str();
  command->add_option("--allow", words.allow, "whose packets are heard: addresses and networks, as in 10.0.0.7,192.168.1.0/24; without it everybody's that arrive");
  command->add_option("--follow", words.follow, "let another machine's time lead the show: mtc (MIDI Time Code) or clock (MIDI clock)")->check(CLI::IsMember({"mtc", "clock"}));
  command->add_option("--freewheel", words.freewheel_s, "seconds that the show goes on by itself when what it follows falls silent")->check(CLI::Range(0.1, live::kMostFreewheel_s))->capture_default_str();
  command->add_option("--tempo", words.tempo_bpm, "beats a minute of the clock at which the show runs at its own speed")->check(CLI::Range(live::kLeastTempo_bpm, live::kMostTempo_bpm))->capture_default_str();
  command->add_option("--code-zero", words.code_zero, "the time code at which the show begins")->capture_default_str();
  command->add_option("--code-rate", words.code_rate, "frames a second of --code-zero and of --send-mtc")->check(CLI::IsMember({"24", "25", "29.97", "30"}))->capture_default_str();
  command->add_option("--send-mtc", words.send_mtc, "send MIDI Time Code to the output whose name contains this");
}

void add_play(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<PlayWords>(app, exit_code, "play", "Perform a show without a window. This arms the link: servos on the port will move. Ctrl-C stops", run_play);
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_option("--port", words->port, "sim:, tcp:HOST:PORT, or a serial device")->capture_default_str();
  command->add_option("--for", words->for_s, "stop after this many seconds")->check(CLI::Range(0.0, 864000.0));
  command->add_flag("--loop", words->loop, "perform the show's loop (all of it, where it sets none) again and again");
  command->add_flag("--wait-input", words->wait_input, "armed in its first pose, wait for an input of the rig, or OSC, to start the show, each time anew; until --for or Ctrl-C");
  command->add_flag("--cues", words->cues, "armed in its first pose, live and wait for cues, from inputs, hands, the time of day and each other; until --for or Ctrl-C");
  command->add_option("--first", words->first_cue, "with --cues: the cue to begin with, as one that chooses little things for all day");
  command->add_option("--resume-within", words->resume_within_s, "a link lost while armed arms itself again if it is back within so many seconds; 0: never. More only where nobody can be at the head")
      ->check(CLI::Range(0.0, 86400.0))->capture_default_str();
  command->add_flag("--mute", words->mute, "no sound");
  command->add_flag("--json", words->json, "print nothing but one JSON object at the end");
  add_hands(command, words->hands);
  command->add_option("--midi", words->hands.midi, "hear only devices whose name contains this");
  add_network(command, words->network);
  command->add_option("--record", words->hands.record, "keep what the hands do in this file, NAME.take.json");
  command->add_option("--record-only", words->hands.record_only, "with --record: these controls alone, as in jaw_open,smile");
}

void add_render(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<RenderWords>(app, exit_code, "render", "Write every tick of a show as CSV: target, setpoint and pulse of each actuator", run_render);
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_option("--out", words->out, "the CSV file to write; - for the terminal")->required();
  command->add_option("--for", words->for_s, "seconds to perform, looping where the show is shorter; 0: the show once")->check(CLI::Range(0.0, 864000.0));
  command->add_flag("--cues", words->cues, "the show stands at its beginning, and only cues and idle life move it, as in mien play --cues; needs --for");
  command->add_option("--cue-at", words->cue_at, "start a cue: TIME:NAME, TIME:-NAME releases it; seconds since the performance began. As often as you like");
  add_hands(command, words->hands);
}

void add_take(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<TakeWords>(app, exit_code, "take", "List what 'mien play --record' kept, or put a take into a show", run_take);
  command->add_option("FILE", words->file, "the takes, NAME.take.json")->required();
  command->add_option("--into", words->show, "the show to put a take into, as a layer of its own on top");
  command->add_option("--take", words->take, "which, counted from 1; otherwise the last")->check(CLI::Range(1, 1'000'000));
  command->add_flag("--channels", words->channels, "into the show's own channels, in place of what they had where hands were on them");
  command->add_option("--error", words->error_percent, "how far keys may be from what was recorded, in percent of each control's range")->check(CLI::Range(0.0, 50.0))->capture_default_str();
  command->add_option("--out", words->out, "write the show there and leave the other as it is");
  command->add_flag("--json", words->json, "list as JSON");
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
  command->add_option("FILE", words->file, "a show, a rig or a library of clips")->required();
  command->add_flag("--json", words->json, "print one JSON object");
}

void add_arrive(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<ArriveWords>(app, exit_code, "arrive", "Change the keys that the head can't follow, as little as it takes, so that it arrives on time", run_arrive);
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_option("--out", words->out, "the show to write; it may be the same file")->required();
  auto* at = command->add_option("--at", words->at, "mend one finding only, at this time in seconds as `mien check` tells it");
  auto* channel = command->add_option("--channel", words->channel, "the channel of that finding");
  at->needs(channel), channel->needs(at);
  command->add_flag("--json", words->json, "print one JSON object");
}

void add_power(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<PowerWords>(app, exit_code, "power", "Tell what a show draws from each rail, when that is too much, and what supply, wire and fuse would do", run_power);
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_flag("--json", words->json, "print one JSON object");
}

void add_describe(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<DescribeWords>(app, exit_code, "describe", "Print a rig as a table: a row for each actuator, control, auxiliary or input", run_describe);
  command->add_option("RIG", words->rig, "the rig")->required();
  auto* csv = command->add_flag("--csv", words->csv, "comma-separated");
  auto* json = command->add_flag("--json", words->json, "an array of JSON objects")->excludes(csv);
  auto* controls = command->add_flag("--controls", words->controls, "the controls instead of the actuators");
  auto* auxiliaries = command->add_flag("--auxiliaries", words->auxiliaries, "lamps, fans and modules instead of the actuators")->excludes(controls);
  auto* inputs = command->add_flag("--inputs", words->inputs, "digital inputs and what they do, instead of the actuators")->excludes(controls)->excludes(auxiliaries);
  command->add_option("--wiring", words->wiring, "write the wiring sheet instead: an HTML file to print; - for the terminal")->excludes(csv)->excludes(json)->excludes(controls)->excludes(auxiliaries)->excludes(inputs);
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

void add_new_rig(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<NewRigWords>(app, exit_code, "new-rig", "Make a rig from a table of servos: roles, limits, controls and constraints are suggested", run_new_rig);
  command->add_option("--from", words->table, "the table, CSV: a column name; role, group, board, output, min_deg, max_deg, rest_deg, reversed and servo where they are known")->required();
  command->add_option("--out", words->out, "the rig to write, NAME.rig.json")->required();
  command->add_option("--show", words->show, "write an empty show on it, too");
  command->add_option("--name", words->name, "of the head; else as the file is called");
  command->add_option("--servo", words->servo, "the line of the servos' data sheet: \"Micro, 0.12 s/60 deg, 180 deg, 500..2500 us, 4.8 V, 1.6 kg cm\"");
  command->add_option("--supply", words->supply_a, "amperes that each board's supply is rated for; 0: not known yet")->check(CLI::Range(0.0, 1000.0));
  command->add_option("--boards", words->boards, "how many boards, where the table names none")->check(CLI::Range(1, show::kMaxBoards))->capture_default_str();
  command->add_option("--outputs", words->outputs, "of each board")->check(CLI::Range(1, show::kMaxOutputsPerBoard))->capture_default_str();
}

void add_board(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<BoardWords>(app, exit_code, "board", "Simulate the boards of a head as a process that a link reaches by tcp:HOST:PORT", run_board);
  command->add_option("--listen", words->listen, "HOST:PORT to listen on; port 0 takes a free one")->required();
  command->add_option("--boards", words->boards, "how many boards")->check(CLI::Range(1, show::kMaxBoards))->capture_default_str();
  command->add_flag("--state", words->state, "print what the boards would drive, a line a change");
  command->add_flag("--hands", words->hands, "obey lines on standard input: 'input BOARD LINE high' or 'low' sets a digital input, BOARD by its place from 0");
  command->add_option("--baked", words->baked, "a file of mien bake: switched on with that show in their memories, the boards perform it until a host comes");
  command->add_option("--capture", words->capture, "append every byte received to this file");
}

void add_adopt(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<AdoptWords>(app, exit_code, "adopt", "Tell which boards a rig knows and which answer, and make those that answer its own. Nothing moves: no limits are sent, those follow before the head is armed", run_adopt);
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
  const auto share = [speak = command](const char* option, double& amount, const char* what) { speak->add_option(option, amount, what)->check(CLI::Range(0.0, speech::kMostDelivery))->capture_default_str(); };
  share("--brows", words->brows, "how far brows rise on stressed words: 0 not at all, 1 as people do");
  share("--head", words->head, "how far the head nods on them");
  share("--blinks", words->blinks, "share of the phrases that end in a blink");
  share("--gaze", words->gaze, "how far the eyes turn away in pauses");
  command->add_option("--seed", words->seed, "of which accents, phrases and directions are chosen: another number, other choices")->capture_default_str();
  command->add_flag("--json", words->json, "print one JSON object");
}

void add_ports(CLI::App& app, int& exit_code) {
  const auto [command, words] = add<PortsWords>(app, exit_code, "ports", "List the serial, MIDI and audio devices of this machine", run_ports);
  command->add_flag("--json", words->json, "print one JSON object");
}

CLI::App& family(CLI::App& app, const char* name, const char* help) {
  auto* command = app.add_subcommand(name, help);
  command->require_subcommand(1);
  return *command;
}

template <class Words>
void show_and_out(CLI::App* command, const std::shared_ptr<Words>& words) {
  command->add_option("SHOW", words->show, "the show")->required();
  command->add_option("--out", words->out, "the show to write; it may be the same file")->required();
}

void add_pose(CLI::App& app, int& exit_code) {
  auto& pose = family(app, "pose", "Named looks of the face: list, capture, key and mirror them");
  const auto [list, l] = add<PoseWords>(pose, exit_code, "list", "Print the poses of a show or a library", run_pose_list);
  list->add_option("FILE", l->show, "a show or a library")->required();
  list->add_flag("--json", l->json, "an array of JSON objects");
  const auto [capture, c] = add<PoseWords>(pose, exit_code, "capture", "Make a pose of what the show's controls stand at", run_pose_capture);
  show_and_out(capture, c);
  capture->add_option("NAME", c->name, "the pose; one of that name is replaced")->required();
  capture->add_option("--at", c->at, "seconds into the show")->capture_default_str();
  capture->add_option("--group", c->group, "controls of this group only");
  capture->add_option("--units", c->units, "the action units of FACS that it stands for, as 6 12");
  const auto [key, k] = add<PoseWords>(pose, exit_code, "key", "Key a pose at a time", run_pose_key);
  show_and_out(key, k);
  key->add_option("NAME", k->name, "the pose")->required();
  key->add_option("--at", k->at, "seconds into the show")->required();
  key->add_option("--weight", k->weight, "how much of it, from rest")->capture_default_str();
  key->add_option("--group", k->group, "controls of this group only");
  key->add_option("--layer", k->layer, "onto this layer's own channels; else onto the show's");
  const auto [mirror, m] = add<PoseWords>(pose, exit_code, "mirror", "Make a pose of another with left and right changed over", run_pose_mirror);
  show_and_out(mirror, m);
  mirror->add_option("NAME", m->name, "the pose")->required();
  mirror->add_option("AS", m->to, "the pose to make")->required();
}

void add_clip(CLI::App& app, int& exit_code) {
  auto& clip = family(app, "clip", "Keys under a name, to be placed again and again: list, make, place, mirror, import and export them");
  const auto [list, l] = add<ClipWords>(clip, exit_code, "list", "Print the clips of a show or a library", run_clip_list);
  list->add_option("FILE", l->show, "a show or a library")->required();
  list->add_flag("--json", l->json, "an array of JSON objects");
  const auto [make, m] = add<ClipWords>(clip, exit_code, "make", "Make a clip of the show's own keys in a stretch of it", run_clip_make);
  show_and_out(make, m);
  make->add_option("NAME", m->name, "the clip; one of that name is replaced, wherever it is placed")->required();
  make->add_option("--from", m->from, "seconds into the show")->capture_default_str();
  make->add_option("--until", m->until, "seconds into the show")->required();
  make->add_option("--controls", m->controls, "of these channels only");
  const auto [place, p] = add<ClipWords>(clip, exit_code, "place", "Place a clip on a layer, which is made where there is none", run_clip_place);
  show_and_out(place, p);
  place->add_option("NAME", p->name, "the clip")->required();
  place->add_option("--layer", p->layer, "the layer")->required();
  place->add_option("--at", p->at, "seconds into the show")->required();
  place->add_option("--offset", p->offset, "seconds of the clip that are left out at its beginning")->capture_default_str();
  place->add_option("--rate", p->rate, "2 plays it twice as fast")->capture_default_str();
  place->add_option("--weight", p->weight, "how much of it")->capture_default_str();
  place->add_option("--repeats", p->repeats, "how often in a row")->capture_default_str();
  place->add_option("--fade-in", p->fade_in, "seconds")->capture_default_str();
  place->add_option("--fade-out", p->fade_out, "seconds")->capture_default_str();
  const auto [mirror, r] = add<ClipWords>(clip, exit_code, "mirror", "Make a clip of another with left and right changed over", run_clip_mirror);
  show_and_out(mirror, r);
  mirror->add_option("NAME", r->name, "the clip")->required();
  mirror->add_option("AS", r->to, "the clip to make")->required();
  const auto [import, i] = add<ClipWords>(clip, exit_code, "import", "Take the poses and clips of a library into a show", run_clip_import);
  show_and_out(import, i);
  import->add_option("LIBRARY", i->taken_from, "the library, NAME.clips.json")->required();
  import->add_flag("--replace", i->replace, "replace the show's own of the same name");
  const auto [give, e] = add<ClipWords>(clip, exit_code, "export", "Write poses and clips of a show as a library", run_clip_export);
  give->add_option("SHOW", e->show, "the show")->required();
  give->add_option("--out", e->out, "the library to write, NAME.clips.json")->required();
  give->add_option("--poses", e->poses, "these poses; without --poses and --clips all of both");
  give->add_option("--clips", e->clips, "these clips");
}

void add_layer(CLI::App& app, int& exit_code) {
  auto& layer = family(app, "layer", "What lies on a show's channels: list, add, mute, remove and bake layers, and give them idle life");
  const auto [list, l] = add<LayerWords>(layer, exit_code, "list", "Print the layers of a show, from the lowest up", run_layer_list);
  list->add_option("SHOW", l->show, "the show")->required();
  list->add_flag("--json", l->json, "an array of JSON objects");
  const auto mask = [](CLI::App* command, const std::shared_ptr<LayerWords>& words) {
    command->add_option("--weight", words->weight, "of the layer")->capture_default_str();
    command->add_option("--mask", words->mask, "groups and controls that it may change; else all");
  };
  const auto [more, a] = add<LayerWords>(layer, exit_code, "add", "Add an empty layer on top", run_layer_add);
  show_and_out(more, a);
  more->add_option("NAME", a->name, "the layer")->required();
  more->add_flag("--add", a->add, "it adds to what lies below; else it goes over it");
  mask(more, a);
  const auto [idle, i] = add<LayerWords>(layer, exit_code, "idle", "Add a layer of idle life, or change the one of that name", run_layer_idle);
  show_and_out(idle, i);
  idle->add_option("NAME", i->name, "the layer")->required();
  idle->add_option("--seed", i->seed, "another number, another life")->capture_default_str();
  idle->add_option("--manner", i->manner, "what it does meanwhile")->check(CLI::IsMember({"resting", "listening", "speaking", "reading"}))->capture_default_str();
  idle->add_option("--blinks", i->blinks, "share of the usual rate")->capture_default_str();
  idle->add_option("--gaze", i->gaze, "share of the usual size of glances")->capture_default_str();
  idle->add_option("--brows", i->brows, "share of the usual size")->capture_default_str();
  idle->add_option("--head", i->head, "share of the usual size")->capture_default_str();
  idle->add_flag("--over", i->over, "it goes over what lies below; else it adds to it");
  mask(idle, i);
  const auto [mute, m] = add<LayerWords>(layer, exit_code, "mute", "Leave a layer out of the performance", run_layer_mute);
  show_and_out(mute, m);
  mute->add_option("NAME", m->name, "the layer")->required();
  mute->add_flag("--off", m->off, "take it in again");
  const auto [remove, r] = add<LayerWords>(layer, exit_code, "remove", "Delete a layer", run_layer_remove);
  show_and_out(remove, r);
  remove->add_option("NAME", r->name, "the layer")->required();
  const auto [bake, b] = add<LayerWords>(layer, exit_code, "bake", "Turn a layer, and those under it that are not muted, into keys of the show's own channels", run_layer_bake);
  show_and_out(bake, b);
  bake->add_option("NAME", b->name, "the layer")->required();
  bake->add_option("--error", b->error_percent, "percent of a control's range by which keys may miss")->check(CLI::Range(0.0, 50.0))->capture_default_str();
}

void add_sound(CLI::App& app, int& exit_code) {
  auto& sound = family(app, "sound", "The sounds of a show: list, add, move, trim and remove them");
  const auto [list, l] = add<SoundWords>(sound, exit_code, "list", "Print the sounds, where each is heard and what is left out of it", run_sound_list);
  list->add_option("SHOW", l->show, "the show")->required();
  list->add_flag("--json", l->json, "an array of JSON objects");
  const auto how = [](CLI::App* command, const std::shared_ptr<SoundWords>& w) {
    command->add_option("--at", w->at, "where in the show it begins to be heard, in seconds");
    command->add_option("--trim", w->trim, "how much of its beginning is left out, in seconds");
    command->add_option("--trim-end", w->trim_end, "how much of its ending is left out, in seconds");
    command->add_option("--gain", w->gain_db, "louder or softer, in dB; 0 leaves it as it is");
  };
  const auto which = [](CLI::App* command, const std::shared_ptr<SoundWords>& w) {
    command->add_option("FILE", w->file, "its file, as 'mien sound list' prints it, or the end of its path")->required();
    command->add_option("--place", w->place, "where the file is placed several times: which of them, 1 is the first");
  };
  const auto [put, p] = add<SoundWords>(sound, exit_code, "add", "Place a sound file on the show", run_sound_add);
  show_and_out(put, p);
  put->add_option("FILE", p->file, "the sound file")->required();
  how(put, p);
  const auto [change, c] = add<SoundWords>(sound, exit_code, "change", "Move, trim or turn down a sound; what is said stays with it, and the mouth is still where nothing is heard", run_sound_change);
  show_and_out(change, c);
  which(change, c);
  how(change, c);
  const auto [remove, r] = add<SoundWords>(sound, exit_code, "remove", "Take a sound out of the show; its file and its mouth stay", run_sound_remove);
  show_and_out(remove, r);
  which(remove, r);
}

void add_lane(CLI::App& app, int& exit_code) {
  auto& lane = family(app, "lane", "The order of a show's channels within the groups of its rig: list and move them");
  const auto [list, l] = add<LaneWords>(lane, exit_code, "list", "Print the lanes as they stand", run_lane_list);
  list->add_option("SHOW", l->show, "the show")->required();
  list->add_flag("--json", l->json, "an array of JSON objects");
  const auto [move, m] = add<LaneWords>(lane, exit_code, "move", "Put a lane to another place of its group", run_lane_move);
  show_and_out(move, m);
  move->add_option("CONTROL", m->name, "the lane's control")->required();
  move->add_option("--to", m->to, "the place, 1 is the first")->required();
}

void cue_options(CLI::App* command, const std::shared_ptr<CueWords>& w) {
  auto* does = command->add_option_group("what it does");
  does->add_option("--clip", w->clip, "plays this clip");
  does->add_option("--pose", w->pose, "holds this pose");
  does->add_option("--stretch", w->stretch, "plays the show from one marker to another; \"\" is its beginning or end")->expected(2);
  does->add_option("--state", w->state, "tells an auxiliary a state, AUXILIARY:STATE")->expected(1);
  does->add_option("--choice", w->choice, "starts one of these cues, by chance")->expected(1, 64);
  does->add_flag("--stop", w->stop, "ends what runs and has no higher priority");
  does->require_option(0, 1);
  command->add_flag("--loops", w->loops, "the clip goes round and round");
  command->add_option("--weight", w->weight, "of the pose, from rest")->capture_default_str();
  command->add_option("--seed", w->seed, "of the choice: another number, another chance")->capture_default_str();
  command->add_option("--fade-in", w->fade_in, "seconds");
  command->add_option("--fade-out", w->fade_out, "seconds");
  command->add_option("--hold", w->hold, "seconds that it stands when what it plays is over; for a pose, a state and a clip that loops how long they last, 0: until released");
  command->add_option("--pause", w->pause, "seconds at least from its end to its next beginning");
  command->add_option("--follow", w->follow, "the cue that begins as this one ends; - for none");
  command->add_option("--priority", w->priority, "of two that move the same, the lower gives way")->check(CLI::Range(0, show::kMostPriority));
  command->add_option("--key", w->key, "a letter or digit that starts it at the window's cue board; - for none");
  command->add_option("--at-time", w->at_time, "seconds of the show at which it starts, as the show plays past them; - for none");
  command->add_option("--at-clock", w->at_clock, "time of day at which it starts, as in 09:30:00; - for none");
}

void add_cue(CLI::App& app, int& exit_code) {
  auto& cue = family(app, "cue", "What a head can be asked for at any moment, by key, input, clock or another machine: list, add, change and remove cues");
  const auto [list, l] = add<CueWords>(cue, exit_code, "list", "Print the cues of a show", run_cue_list);
  list->add_option("SHOW", l->show, "the show")->required();
  list->add_flag("--json", l->json, "an array of JSON objects");
  const auto [more, a] = add<CueWords>(cue, exit_code, "add", "Add a cue at the end of the list", run_cue_add);
  show_and_out(more, a);
  more->add_option("NAME", a->name, "the cue")->required();
  cue_options(more, a);
  const auto [change, c] = add<CueWords>(cue, exit_code, "change", "Change what is given of a cue, and leave the rest as it is", run_cue_change);
  show_and_out(change, c);
  change->add_option("NAME", c->name, "the cue")->required();
  change->add_option("--name", c->now, "its new name, wherever cues name it");
  change->add_option("--place", c->place, "its place in the list, counted from 1")->check(CLI::Range(1, static_cast<int>(show::kMaxCues)));
  cue_options(change, c);
  const auto [remove, r] = add<CueWords>(cue, exit_code, "remove", "Delete a cue", run_cue_remove);
  show_and_out(remove, r), remove->add_option("NAME", r->name, "the cue")->required();
}

}  // namespace

int run(int count, char** words) {
  CLI::App app{
      "Mien writes, rehearses and performs the expressions of an animatronic head.\n"
      "Without a command it opens the editor.\n"
      "Exit codes: 0 fine, 1 findings, 2 unusable input.",
      "mien"};
  app.set_version_flag("--version", "Mien " MIEN_VERSION);
  app.require_subcommand(0, 1);
  int exit_code = kFine;
  for (auto add_command : {add_edit, add_play, add_render, add_take, add_bake, add_check, add_arrive, add_power, add_describe, add_keys, add_new_rig, add_board, add_adopt, add_align, add_speak, add_ports, add_pose, add_clip, add_layer, add_lane, add_sound, add_cue}) add_command(app, exit_code);
  try {
    app.parse(count, words);
    if (app.get_subcommands().empty()) exit_code = run_edit({});
  } catch (const CLI::ParseError& problem) {
    return app.exit(problem) == 0 ? kFine : kUnusable;  // --help and --version come this way, too
  }
  return exit_code;
}

}  // namespace mien::app
