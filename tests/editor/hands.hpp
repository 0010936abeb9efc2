// The editor without a window: a drawing context of its own, a stage that only remembers, and hands that click, drag and type by the
// names that widgets say to the probe.
#pragma once
#include <imgui.h>

#include <memory>
#include <string>
#include <vector>

#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "live/tape_machine.hpp"
#include "threads/steady.hpp"

namespace mien::tests {

/// Remembers what it was asked, and is where it was put.
class FakeStage final : public editor::Stage {
 public:
  perform::Report now;
  link::Status status;
  std::vector<std::string> asked;
  show::ShowPtr published;

  show::Rig rig;  ///< as boards were told it
  std::shared_ptr<const show::Rig> published_rig;

  void set_rig(const show::Rig& told) override { rig = told; }
  void publish(std::shared_ptr<const show::Rig> with, show::ShowPtr show) override { published = std::move(show), published_rig = std::move(with); }
  void set_sounds(std::vector<sound::Placed>) override {}
  void play() override { now.playing = true; asked.push_back("play"); }
  void pause() override { now.playing = false; asked.push_back("pause"); }
  void stop_playing() override { now.playing = false; now.time = show::Time{0}; }
  void seek(show::Time t) override { now.time = t; asked.push_back("seek"); }
  void scrub(show::Time t) override { now.time = t; asked.push_back("scrub"); }
  void set_loop(show::Range) override {}
  void open_port(const std::string& port) override { status.port = port; status.state = link::State::ready; asked.push_back("open " + port); }
  void close_port() override { status = {}; }
  void arm() override { status.state = link::State::armed; now.mode = perform::Mode::live; asked.push_back("arm"); }
  void disarm() override { status.state = link::State::ready; asked.push_back("disarm"); }
  void stop() override {
    if (status.state == link::State::armed) status.state = link::State::ready;
    asked.push_back("stop");
  }
  void adopt() override { asked.push_back("adopt"); }
  void set_state(int auxiliary, std::uint8_t value) override { asked.push_back("state " + std::to_string(auxiliary) + " " + std::to_string(value)); }
  live::HandMap hands;
  std::vector<live::TakeTick> tape;
  void set_hands(const live::HandMap& map) override { hands = map; }
  std::vector<live::Devices::Device> devices() override { return {{"Slide Eight", "fake", true, 0}}; }
  void panic() override { asked.push_back("panic"); }
  void give(int group, bool on) override { asked.push_back("give " + std::to_string(group) + (on ? " on" : " off")); }
  void record(bool on) override { now.hands.recording = on; asked.push_back(on ? "record" : "record no more"); }
  bool take(live::TakeTick& tick) override {
    if (tape.empty()) return false;
    tick = tape.front();
    tape.erase(tape.begin());
    return true;
  }
  live::NetworkSettings network_asked;
  live::NetworkStatus network_now;
  live::FollowSettings following;
  std::vector<live::NetworkOrder> orders;
  std::optional<show::Finding> network_problem;
  live::ShowState network_told;
  std::optional<show::Finding> open_network(const live::NetworkSettings& settings) override {
    network_asked = settings;
    if (network_problem) return network_problem;
    network_now.osc = settings.osc, network_now.sacn = settings.sacn;
    return {};
  }
  live::NetworkStatus network() override { return network_now; }
  std::optional<live::NetworkOrder> network_order() override {
    if (orders.empty()) return {};
    const auto order = orders.front();
    orders.erase(orders.begin());
    return order;
  }
  void tell_network(const live::ShowState& state) override { network_told = state; }
  void follow(const live::FollowSettings& settings) override { following = settings; }
  live::TapeMachine machine;                    ///< the one MIDI output that there is
  live::SendCode code_asked;
  std::unique_ptr<live::MtcSender> code;
  std::vector<std::string> midi_outputs() override {
    auto systems = machine.systems();
    return live::midi_outputs(systems);
  }
  std::optional<show::Finding> send_code(const live::SendCode& what) override {
    code.reset();
    code_asked = what;
    if (what.output.empty()) return {};
    auto sender = live::MtcSender::open(what, machine.systems());
    if (!sender) return sender.problem();
    code = std::move(*sender);
    return {};
  }
  live::CodeSent code_sent() override { return code ? code->status() : live::CodeSent{}; }
  void start_cue(int cue) override { asked.push_back("start cue " + std::to_string(cue)); }
  void release_cue(int cue) override { asked.push_back("release cue " + std::to_string(cue)); }
  void release_cues() override { asked.push_back("release cues"); }
  void set_cues_live(bool live) override { asked.push_back(live ? "cues live" : "cues not live"); }
  const perform::Report& report() override {
    if (code) code->follow({threads::steady_ns(), now.time, now.playing});
    return now;
  }
  link::Status link() override { return status; }
  std::optional<show::Finding> silent_because() override { return {}; }
};

/// A rig with one board, two groups and the controls blink (0..1), yaw (-30..30 deg) and smile (0..1).
show::Rig small_rig();
/// 4 s; blink has keys at 0.5 s (0), 1.0 s (1) and 1.5 s (0); yaw one at 2 s (10).
show::Show small_show();

class Hands {
 public:
  explicit Hands(show::Rig rig = small_rig(), show::Show show = small_show(), ImVec2 screen = {1366, 768});
  ~Hands();
  Hands(const Hands&) = delete;
  Hands& operator=(const Hands&) = delete;

  FakeStage stage;
  std::unique_ptr<editor::Studio> studio;
  editor::Probe probe;
  int vertices = 0;  ///< of the last frame

  const editor::Document& document() const { return studio->document(); }
  const show::Show& show() const { return document().show(); }
  const std::vector<show::Keyframe>& keys(const std::string& control) const;

  /// One frame; what hands did since the last one arrives as the input queue lets it.
  void frame();
  /// Frames until the queue is empty and the picture has settled.
  void settle();
  bool sees(const std::string& name) const { return probe.boxes.contains(name); }
  /// The middle of a widget; a failure where the window shows none of that name.
  ImVec2 middle(const std::string& name);
  /// Where a time stands in a lane.
  ImVec2 at(const std::string& lane, double seconds);

  void push(const editor::InputEvent& e);
  void move(ImVec2 to) { push(editor::InputEvent::move(to.x, to.y)); }
  void click(ImVec2 at, int mods = 0);
  void click(const std::string& name) { click(middle(name)); }
  /// An action by its name, through its menu, as a person does it.
  void choose(const std::string& label);
  void double_click(ImVec2 at);
  void drag(ImVec2 from, ImVec2 to, int mods = 0, bool release = true);
  void press(int key, int mods = 0);
  void type(const std::string& text);

 private:
  editor::InputQueue queue_;
};

}  // namespace mien::tests
