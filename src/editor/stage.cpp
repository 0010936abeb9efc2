#include "editor/stage.hpp"

namespace mien::editor {
namespace {

class RealStage final : public Stage {
 public:
  explicit RealStage(bool mute) : player_(mute), session_(show::Rig{}), performer_(&session_, &player_) {}

  void set_rig(const show::Rig& rig) override { session_.set_rig(rig); }
  void publish(std::shared_ptr<const show::Rig> rig, show::ShowPtr show) override {
    plan_ = perform::compile(std::move(rig), std::move(show), plan_.get());
    performer_.publish(plan_);
  }
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

  const perform::Report& report() override { return performer_.latest(); }
  link::Status link() override { return session_.status(); }
  std::optional<show::Finding> silent_because() override { return player_.silent_because(); }

 private:
  perform::PlanPtr plan_;
  sound::Player player_;
  link::Session session_;
  perform::Performer performer_;  // last, so that its thread ends before what it uses
};

}  // namespace

std::unique_ptr<Stage> real_stage(bool mute) { return std::make_unique<RealStage>(mute); }

}  // namespace mien::editor
