// Writes what the fuzzers start from into FOLDER/TARGET/: the project's own small files, the messages of PROTOCOL.md, a small baked show, a
// tenth of a second of sound in several formats, MIDI of a controller, of time code and of a clock, datagrams of OSC and sACN.
#include <sndfile.h>

#include <cmath>
#include <numbers>

#include "fuzz/text.hpp"
#include "live/mtc_out.hpp"
#include "live/osc.hpp"
#include "live/sacn_packet.hpp"
#include "perform/bake.hpp"
#include "store/csv.hpp"
#include "store/map_store.hpp"
#include "store/take_store.hpp"
#include "wire/examples.hpp"

namespace {

using namespace mien;
namespace fs = std::filesystem;
using Bytes = std::vector<std::uint8_t>;

fs::path folder;

void write(const char* target, const std::string& name, const void* data, std::size_t size) {
  fs::create_directories(folder / target);
  std::ofstream out(folder / target / name, std::ios::binary);
  out.write(static_cast<const char*>(data), static_cast<std::streamsize>(size));
  fuzz::demand(bool(out.flush()), "a seed can be written");
}
void write(const char* target, const std::string& name, const Bytes& bytes) { write(target, name, bytes.data(), bytes.size()); }
void write(const char* target, const std::string& name, const std::string& text) { write(target, name, text.data(), text.size()); }

Bytes step(int code, const Bytes& bytes) {
  Bytes out = {static_cast<std::uint8_t>(code), static_cast<std::uint8_t>(bytes.size())};
  out.insert(out.end(), bytes.begin(), bytes.end());
  return out;
}
void add(Bytes& script, int code, const Bytes& bytes) {
  const Bytes one = step(code, bytes);
  script.insert(script.end(), one.begin(), one.end());
}

/// What is inside a packet on the line.
Bytes opened(const Bytes& line) {
  wire::Deframer deframer;
  for (const auto byte : line)
    if (deframer.push(byte)) return {deframer.packet().data, deframer.packet().data + deframer.packet().size};
  return {};
}

template <class Message>
Bytes packet(Message message) {
  if constexpr (requires { message.address; }) message.address = 0;
  return opened(wire::examples::encoded(message));
}

/// Opcodes are those of wire_board.cpp, wire_host.cpp and repeater.cpp: a packet to be sealed is 1 in all three; code >> 3 are milliseconds.
void write_messages() {
  namespace e = wire::examples;
  constexpr int kThen10Ms = 10 << 3;
  for (const auto& example : e::all()) {
    const Bytes inside = opened(example.bytes);
    write("wire_board", example.name, step(1 | kThen10Ms, inside));
    write("wire_host", example.name, step(1 | kThen10Ms, inside));
    write("wire_host", "answer " + example.name, step(2 | kThen10Ms, inside));
    write("repeater", example.name, step(1, inside));
    write("repeater", "raw " + example.name, step(0, example.bytes));
  }
  Bytes life;  // a board's, from its address to its stop
  wire::Frame frame = e::frame();
  frame.latch_us = 100'000, frame.sequence = 1;
  add(life, 1 | kThen10Ms, packet(e::hello()));
  add(life, 1 | kThen10Ms, packet(e::configure()));
  add(life, 1 | kThen10Ms, packet(wire::Clock{0, 1, 0, 0x10000, 0}));
  add(life, 1 | kThen10Ms, packet(e::order(wire::Type::arm, 2)));
  for (int n = 0; n < 3; ++n) ++frame.sequence, frame.latch_us += 10'000, add(life, 1 | kThen10Ms, opened(e::encoded(frame)));
  add(life, 4 | kThen10Ms, {1, 0, 0});
  add(life, 1 | kThen10Ms, packet(e::order(wire::Type::query, 3)));
  add(life, 1 | kThen10Ms, packet(e::order(wire::Type::disarm, 4)));
  write("wire_board", "a life", life);
  Bytes greeting;
  add(greeting, 2 | kThen10Ms, packet(e::description()));
  add(greeting, 4, {2});
  for (int n = 0; n < 4; ++n) add(greeting, 2 | kThen10Ms, packet(e::acknowledgement())), add(greeting, 2 | kThen10Ms, packet(e::state_report()));
  write("wire_host", "a greeting", greeting);
  Bytes performance;
  add(performance, 7, {200, 0, 0}), add(performance, 7, {200, 0, 0});
  add(performance, 4, {2});
  for (int n = 0; n < 4; ++n) add(performance, 7, {100, 0, 0});
  add(performance, 7, {100, 0x40, 9}), add(performance, 4, {1}), add(performance, 7, {200, 0, 0}), add(performance, 4, {0}), add(performance, 7, {50, 0, 0});
  write("wire_host", "a performance", performance);
  Bytes chain;
  add(chain, 3, {1});
  add(chain, 1, opened(e::encoded(e::hello()))), add(chain, 1, opened(e::encoded(e::frame()))), add(chain, 0, {0});
  write("repeater", "a chain", chain);
}

void write_baked() {
  const auto loaded = store::load_show(MIEN_SOURCE_DIR "/tests/samples/small.show.json");
  fuzz::demand(bool(loaded), "the sample show loads");
  auto rig = std::make_shared<show::Rig>(*loaded->rig);  // with a lamp on each board
  for (const auto& board : rig->boards) rig->auxiliaries.push_back({"lamp on " + board.name, board.name, rig->controls[0].name, 3, show::Dimmer{}});
  const auto plan = perform::compile(rig, loaded->show);
  perform::BakeSettings settings;
  for (int how = 0; how < 2; ++how) {
    settings.loop = how == 1, settings.start_mask = static_cast<std::uint16_t>(how), settings.start_value = settings.start_mask;
    if (how == 1) settings.pause = {std::chrono::milliseconds(50), std::chrono::milliseconds(100)};
    const auto baked = perform::bake(*plan, how == 1 ? std::vector<perform::PlanPtr>{plan} : std::vector<perform::PlanPtr>{}, settings);
    fuzz::demand(bool(baked), "the sample show bakes");
    for (const auto& board : baked->boards) {
      Bytes seed = {static_cast<std::uint8_t>(3 | board.address << 4), 0, 1, 1, 0, 0, 1, 1, 1};
      seed.insert(seed.end(), board.image.begin(), board.image.end());
      write("baked", board.name + (how ? " looping" : " once"), seed);
    }
  }
}

void write_sound(const char* name, int format, int channels) {
  const fs::path file = folder / "sound" / name;
  fs::create_directories(file.parent_path());
  SF_INFO info{};
  info.samplerate = 8000, info.channels = channels, info.format = format;
  SNDFILE* out = sf_open(file.c_str(), SFM_WRITE, &info);
  if (!out) return;  // a libsndfile without that format
  std::vector<float> samples(static_cast<std::size_t>(400 * channels));
  for (std::size_t n = 0; n < samples.size(); ++n) samples[n] = 0.5f * static_cast<float>(std::sin(2 * std::numbers::pi * 440 * double(n) / 8000));
  sf_write_float(out, samples.data(), static_cast<sf_count_t>(samples.size()));
  sf_close(out);
}

void write_sounds() {
  write_sound("pcm16.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1);
  write_sound("float.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 2);
  write_sound("adpcm.wav", SF_FORMAT_WAV | SF_FORMAT_IMA_ADPCM, 1);
  write_sound("three.wav", SF_FORMAT_WAVEX | SF_FORMAT_PCM_U8, 3);
  write_sound("some.aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_16, 1);
  write_sound("some.au", SF_FORMAT_AU | SF_FORMAT_ULAW, 1);
  write_sound("some.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 1);
  write_sound("some.caf", SF_FORMAT_CAF | SF_FORMAT_PCM_16, 1);
  write_sound("some.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, 1);
}

void write_documents() {
  const fs::path samples = fs::path(MIEN_SOURCE_DIR) / "tests" / "samples", shows = fs::path(MIEN_SOURCE_DIR) / "shows";
  for (const char* name : {"small", "power", "linkages", "plate"}) {
    const auto text = fuzz::content_of(samples / (std::string(name) + ".rig.json"));
    write("rig", name, text), write("describe", name, text);
  }
  const auto keeper = fuzz::content_of(shows / "keeper.rig.json");
  write("rig", "keeper", keeper), write("describe", "keeper", keeper);
  write("show", "small", fuzz::content_of(samples / "small.show.json"));
  write("show", "hurried", fuzz::content_of(shows / "hurried.show.json"));
  write("show", "cues", fuzz::content_of(samples / "cues.show.json"));
  for (const char* name : {"version0.show.json", "version0.rig.json"}) write("version0", name, fuzz::content_of(samples / name));
  const auto small = store::load_show(samples / "small.show.json");
  fuzz::demand(bool(small), "the sample show loads");
  write("head_table", "face", std::string("Micro, 0.12 s/60 deg, 180 deg, 500..2500 us, 4.8 V, 1.6 kg cm\nname,role,group,board,output,min_deg,max_deg,rest_deg,reversed,servo\nleft upper lid,,,,,-30,10,0,no,\n"
                                             "left lower lid,,lids,face,3,,,,yes,\"Big, 0.2 s/60 deg, 120 deg\"\njaw,jaw_open,,,,,,,,\near,-,,,,,,,,\n"));
  write("head_table", "tabs", std::string("\nname\toutput\r\nleft eye pan\t1\r\nright eye pan\t\r\neyes tilt\t\r\nupper lip\t\r\nlower lip\t\r\n"));
  write("home", "settings", std::string("# mine\ntheme = dark\ntext = large\ndialogs = own\nloop = Ctrl+=\n"));
  const std::string show = fuzz::content_of(samples / "small.show.json");
  write("home", "recovery", "# Work that was not saved when Mien ended. Start 'mien edit' to be offered it.\nfile = /a%20b.show.json\nname = small\ntime_s = 1\nedits = 2\nshow_bytes = " + std::to_string(show.size()) + "\nrig_bytes = 0\n\n" + show);
  write("keys", "small", store::export_keys(*small->show));
  write("keys", "quoted", std::string("\xEF\xBB\xBF" "channel,time_s,value,easing\r\n\"smile\",\"0.5\",-1e-3,\"bezier(0.1 0 1 1)\"\r\nsmile,0,1,hold\r\n"));
}

void write_others() {
  write("midi", "controller", Bytes{0, 0xB0, 1, 64, 1, 70, 0x90, 60, 100, 60, 0, 0xE0, 0, 127, 0xD0, 50, 0xB0, 2, 9, 34, 7, 5, 127});
  Bytes code{1}, clock{2, 0xF2, 16, 0, 0xFB};
  live::MtcOut out;
  for (std::int64_t now = 0; now < 1'000'000'000; now += 1'000'000) {
    if (now % 10'000'000 == 0) out.follow({now, show::Time{now}, now > 100'000'000});
    for (auto b = out.due(now); b.count; b = out.due(now)) code.insert(code.end(), b.byte.begin(), b.byte.begin() + b.count);
  }
  clock.insert(clock.end(), 60, 0xF8), clock.push_back(0xFC);
  write("midi", "code", code), write("midi", "clock", clock);
  const live::OscValue half[] = {0.5f}, marker[] = {std::string_view("Wakes")};
  const Bytes jaw = live::write_osc("/mien/control/jaw", half), few[] = {live::write_osc("/desk/fader/1", half), live::write_osc("/mien/marker", marker), live::write_osc("/mien/control/{jaw,sm*}", half)};
  write("osc", "control", step(4, jaw));
  Bytes script = step(4, live::write_osc_bundle(live::kOscAtOnce, few));
  add(script, 4, live::write_osc_bundle(live::time_tag_of(1'800'000'000'100'000'000), few));
  for (const char* address : {"/mien/play", "/mien/stop", "/mien/release", "/mien/state", "/mien/cue/a"}) add(script, 9, live::write_osc(address, {}));
  write("osc", "evening", script);
  Bytes desk = step(2, live::sacn_packet({.levels = {0, 128, 255}}));
  add(desk, 4, live::sacn_packet({.cid = 2, .priority = 120, .levels = {9}}));
  add(desk, 4, live::sacn_packet({.sequence = 2, .options = 0x40, .levels = {9}}));
  const Bytes full = live::sacn_packet({.cid = 3, .levels = Bytes(300, 7)});
  add(desk, 1, {full.begin(), full.begin() + 255}), add(desk, 2, {full.begin() + 255, full.end()});
  write("sacn", "evening", desk);
  const fs::path samples = fs::path(MIEN_SOURCE_DIR) / "tests" / "samples", shows = fs::path(MIEN_SOURCE_DIR) / "shows";
  write("map", "desk", fuzz::content_of(samples / "desk.map.json")), write("map", "keeper", fuzz::content_of(shows / "keeper.map.json"));
  live::HandMap map{.name = "a", .banks = {"one"}, .knobs = {}, .triggers = {}};
  map.knobs = {{.source = *live::parse_source("osc /desk/fader/1"), .control = "jaw", .takeover = live::Takeover::glide}, {.source = *live::parse_source("slot 17"), .control = "smile", .bank = 1}};
  map.triggers = {{.source = *live::parse_source("controller 64"), .name = "glad", .hold = live::Trigger::Hold::latch}, {.source = *live::parse_source("note 3"), .what = live::Trigger::What::clip, .name = "glance"}};
  write("map", "hand", store::write_map(map));
  write("library", "keeper", fuzz::content_of(shows / "keeper.clips.json"));
  const fs::path take = folder / "take" / "small";
  fs::create_directories(take.parent_path());
  const std::vector<live::Take> takes = {{"take 1", {{"jaw", {{show::Time{0}, 0}, {show::Time{10'000'000}, 0.5}, {show::Time{20'000'000}, 0.25}}, {{show::Time{0}, show::Time{20'000'000}}}}}}};
  fuzz::demand(!store::save_takes(take, takes), "a take can be written");
}

}  // namespace

int main(int count, char** words) {
  if (count != 2) return std::fprintf(stderr, "usage: fuzz_seeds FOLDER\n"), 2;
  folder = words[1];
  write_messages();
  write_baked();
  write_sounds();
  write_documents();
  write_others();
  return 0;
}
