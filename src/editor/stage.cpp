#include "editor/stage.hpp"

#include "editor/gamepads.hpp"
#include "perform/feedback_side.hpp"
#include "threads/steady.hpp"

namespace mien::editor {
namespace {

class RealStage final : public Stage {
 public:
  explicit RealStage(bool mute) : player_(mute), session_(show::Rig{}), devices_(inlet_), performer_(&session_, &player_, &inlet_) {}

  void set_rig(const show::Rig& rig) override { session_.set_rig(rig); }
  void publish(std::shared_ptr<const show::Rig> rig, show::ShowPtr show) override {
    live::know_controls(*rig, addresses_);
    live::know_addresses(map_, addresses_);
    const bool osc = network_ && network_->status().osc;
    if (network_) network_->know(addresses_);
    auto program = map_.knobs.empty() && map_.triggers.empty() && !osc ? nullptr : live::compile(map_, rig, show, devices_.names(), addresses_);
    if (program && !feedback_) feedback_.emplace();
    if (feedback_) feedback_->set(program, devices_.names());
    plan_ = perform::compile(std::move(rig), std::move(show), plan_.get(), std::move(program));
    performer_.publish(plan_);
  }
  void set_hands(const live::HandMap& map) override {
    map_ = map;
    // Those that the map names are numbered now, so that they are heard from the moment they are there.
    for (const auto& knob : map.knobs) number(knob.source);
    for (const auto& trigger : map.triggers) number(trigger.source);
    if (plan_) publish(plan_->rig, plan_->show);
  }
  std::vector<live::Devices::Device> devices() override {
    if (const auto now = threads::steady_ns(); now >= look_ns_) look_ns_ = now + 1'000'000'000, devices_.poll();
    auto seen = devices_.seen();
    const auto now_open = network();
    for (auto& device : seen) device.there |= (now_open.osc && device.name == live::kOscDevice) || (now_open.sacn && device.name == live::kSacnDevice);
    return seen;
  }
  std::vector<std::string> addresses() override { return addresses_; }
  std::optional<show::Finding> open_network(const live::NetworkSettings& settings) override {
    if (!network_ && !settings.osc && !settings.sacn) return std::nullopt;
    const int osc = devices_.number_of(live::kOscDevice), sacn = devices_.number_of(live::kSacnDevice);
    if (osc < 0 || sacn < 0) return show::Finding{show::Severity::error, "", "network", "no more devices can be heard at once", "Unplug some and start Mien anew."};
    if (!network_) network_ = std::make_unique<live::Network>(inlet_, osc, sacn);
    auto problem = network_->open(settings);
    if (plan_) publish(plan_->rig, plan_->show);
    return problem;
  }
  live::NetworkStatus network() override { return network_ ? network_->status() : live::NetworkStatus{}; }
  std::optional<live::NetworkOrder> network_order() override { return network_ ? network_->order() : std::nullopt; }
  void tell_network(const live::ShowState& state) override { if (network_) network_->tell(state); }
  void follow(const live::FollowSettings& settings) override { performer_.follow(settings); }
  std::vector<std::string> midi_outputs() override {
    if (outputs_.empty()) outputs_ = live::midi_out_systems();
    if (const auto now = threads::steady_ns(); now >= look_out_ns_) look_out_ns_ = now + 1'000'000'000, output_names_ = live::midi_outputs(outputs_);
    return output_names_;
  }
  std::optional<show::Finding> send_code(const live::SendCode& what) override {
    if (code_ && what == code_what_) return std::nullopt;
    code_.reset();
    code_what_ = what;
    if (what.output.empty()) return std::nullopt;
    auto sender = live::MtcSender::open(what);
    if (!sender) return sender.problem();
    code_ = std::move(*sender);
    return std::nullopt;
  }
  live::CodeSent code_sent() override { return code_ ? code_->status() : live::CodeSent{}; }
  int gamepads() override { return gamepads_.poll(devices_); }
  void panic() override { performer_.panic(); }
  void give(int group, bool on) override { performer_.give(group, on); }
  void record(bool on) override { performer_.record(on); }
  bool take(live::TakeTick& tick) override { return performer_.take(tick); }
  void start_cue(int cue) override { performer_.start_cue(cue); }
  void release_cue(int cue) override { performer_.release_cue(cue); }
  void release_cues() override { performer_.release_cues(); }
  void set_cues_live(bool live) override { performer_.set_cues_live(live); }
  void set_day(std::int64_t day_ns) override { performer_.set_day(day_ns); }
  void set_sounds(std::vector<sound::Placed> sounds) override { player_.set_sounds(std::move(sounds)); }

  void play() override { performer_.play(); }
  void pause() override { performer_.pause(); }
  void stop_playing() override { performer_.stop(); }
  void seek(show::Time time) override { performer_.seek(time); }
  void scrub(show::Time time) override { performer_.scrub(time); }
  void set_loop(show::Range loop) override { performer_.set_loop(loop); }

  void open_port(const std::string& port) override { session_.open(port); }
  void close_port() override { session_.close(); }
  void arm() override { session_.arm(); }
  void disarm() override { session_.disarm(); }
  void stop() override { session_.stop(); }
  void adopt() override { session_.adopt(); }
  void set_state(int auxiliary, std::uint8_t value) override { performer_.set_state(auxiliary, value); }

  const perform::Report& report() override {
    const perform::Report& now = performer_.latest();
    if (feedback_) perform::tell(*feedback_, now);
    if (code_ && now.at_ns) code_->follow({now.at_ns, now.time, now.playing});
    return now;
  }
  link::Status link() override { return session_.status(); }
  std::optional<show::Finding> silent_because() override { return player_.silent_because(); }

 private:
  void number(const live::Source& source) {
    if (!source.device.empty()) devices_.number_of(source.device);
  }

  perform::PlanPtr plan_;
  live::HandMap map_;
  std::int64_t look_ns_ = 0;
  live::Inlet inlet_;
  sound::Player player_;
  link::Session session_;
  live::Devices devices_;
  std::vector<std::string> addresses_;
  std::unique_ptr<live::Network> network_;
  Gamepads gamepads_{inlet_};
  std::optional<live::FeedbackOut> feedback_;  // once a map says what could be told
  live::MidiOutSystems outputs_;                // once they were asked for
  std::vector<std::string> output_names_;
  std::int64_t look_out_ns_ = 0;
  live::SendCode code_what_;
  std::unique_ptr<live::MtcSender> code_;
  perform::Performer performer_;  // last, so that its thread ends before what it uses
};

}  // namespace

std::unique_ptr<Stage> real_stage(bool mute) { return std::make_unique<RealStage>(mute); }

}  // namespace mien::editor
