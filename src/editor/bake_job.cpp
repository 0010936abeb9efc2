#include "editor/bake_job.hpp"

namespace mien::editor {

void BakeJob::start(std::shared_ptr<const show::Rig> rig, show::ShowPtr show, std::string layer) {
  if (running_) return;
  running_ = true, stop_ = false, ready_ = false, share_ = 0;
  thread_ = std::jthread([this, rig = std::move(rig), show = std::move(show), layer = std::move(layer)] {
    perform::BakeDown settings;
    settings.go_on = [this](double share) {
      share_ = share;
      return !stop_;
    };
    done_ = {show, layer, perform::baked_down(rig, *show, layer, settings)};
    ready_ = true;
  });
}

std::optional<BakeJob::Done> BakeJob::take() {
  if (!ready_) return {};
  thread_.join();
  ready_ = false, running_ = false;
  return std::move(done_);
}

}  // namespace mien::editor
