#include "editor/setpoint_worker.hpp"

#include "perform/render.hpp"

namespace mien::editor {
namespace {

constexpr std::int64_t kMostTicks = 360'000;  ///< an hour at 100 Hz: 4 bytes for each actuator and tick

}  // namespace

SetpointWorker::SetpointWorker() : thread_([this](std::stop_token stop) { work(std::move(stop)); }) {}
SetpointWorker::~SetpointWorker() = default;

void SetpointWorker::request(std::shared_ptr<const show::Rig> rig, show::ShowPtr show) {
  {
    const std::lock_guard lock(mutex_);
    rig_ = std::move(rig), wanted_ = std::move(show);
  }
  wake_.notify_one();
}

std::shared_ptr<const Setpoints> SetpointWorker::latest() const {
  const std::lock_guard lock(mutex_);
  return done_;
}

void SetpointWorker::work(std::stop_token stop) {
  for (;;) {
    std::shared_ptr<const show::Rig> rig;
    show::ShowPtr show;
    {
      std::unique_lock lock(mutex_);
      if (!wake_.wait(lock, stop, [&] { return wanted_ != nullptr; })) return;
      rig = std::move(rig_), show = std::move(wanted_);
      wanted_ = nullptr;
    }
    const perform::PlanPtr plan = perform::compile(rig, show);
    auto result = std::make_shared<Setpoints>();
    result->show = show;
    result->tick = plan->tick;
    result->map = plan->map;
    result->behind_deg.resize(static_cast<std::size_t>(plan->actuators()));
    int ticks = 0;
    const bool whole = perform::render(*plan, [&](const perform::Tick& tick) {
      for (std::size_t i = 0; i < result->behind_deg.size(); ++i)
        result->behind_deg[i].push_back(static_cast<float>(tick.setpoint_deg[i] - tick.target_deg[i]));
      // A newer request, or the end of the program, makes this one useless.
      if (++ticks % 256 == 0) {
        if (stop.stop_requested() || ticks > kMostTicks) return false;
        const std::lock_guard lock(mutex_);
        return wanted_ == nullptr;
      }
      return true;
    });
    if (!whole && ticks <= kMostTicks) continue;
    const std::lock_guard lock(mutex_);
    done_ = std::move(result);
  }
}

}  // namespace mien::editor
