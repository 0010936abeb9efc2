#include "editor/setpoint_worker.hpp"

#include <algorithm>
#include <numeric>
#include <tuple>

#include "perform/render.hpp"

namespace mien::editor {
namespace {

constexpr std::int64_t kMostTicks = 360'000;  ///< an hour at 100 Hz: 4 bytes for each actuator and tick
using StillWanted = std::function<bool()>;

// nullptr where still_wanted said no.
std::shared_ptr<const Setpoints> setpoints_of(const perform::Plan& plan, const StillWanted& still_wanted) {
  auto result = std::make_shared<Setpoints>();
  result->show = plan.show;
  result->tick = plan.tick;
  result->map = plan.map;
  result->behind_deg.resize(static_cast<std::size_t>(plan.actuators()));
  std::int64_t ticks = 0;
  const bool whole = perform::render(plan, [&](const perform::Tick& tick) {
    for (std::size_t i = 0; i < result->behind_deg.size(); ++i)
      result->behind_deg[i].push_back(static_cast<float>(tick.setpoint_deg[i] - tick.target_deg[i]));
    return ++ticks <= kMostTicks && (ticks % 256 != 0 || still_wanted());
  });
  return whole || ticks > kMostTicks ? result : nullptr;
}

std::shared_ptr<const Feasibility> feasibility_of(const perform::PlanPtr& plan, const StillWanted& still_wanted) {
  auto result = std::make_shared<Feasibility>();
  result->show = plan->show;
  result->plan = plan;
  result->study = perform::study(*plan, {}, still_wanted);
  if (!result->study.whole) return nullptr;
  const auto& found = result->study.shortfalls;
  result->by_time.resize(found.size());
  std::iota(result->by_time.begin(), result->by_time.end(), std::size_t{0});
  std::sort(result->by_time.begin(), result->by_time.end(), [&](std::size_t a, std::size_t b) {
    return std::tuple(seen_at(found[a]), found[a].control, a) < std::tuple(seen_at(found[b]), found[b].control, b);
  });
  result->index = index_of(result->study, *plan->rig);
  return result;
}

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

std::shared_ptr<const Setpoints> SetpointWorker::setpoints() const {
  const std::lock_guard lock(mutex_);
  return setpoints_;
}

std::shared_ptr<const Feasibility> SetpointWorker::feasibility() const {
  const std::lock_guard lock(mutex_);
  return feasibility_;
}

void SetpointWorker::work(std::stop_token stop) {
  perform::PlanPtr plan;
  for (;;) {
    std::shared_ptr<const show::Rig> rig;
    show::ShowPtr show;
    {
      std::unique_lock lock(mutex_);
      if (!wake_.wait(lock, stop, [&] { return wanted_ != nullptr; })) return;
      rig = std::move(rig_), show = std::move(wanted_);
      wanted_ = nullptr;
    }
    // A newer request, or the end of the program, makes this one useless.
    const StillWanted still_wanted = [&] {
      if (stop.stop_requested()) return false;
      const std::lock_guard lock(mutex_);
      return wanted_ == nullptr;
    };
    plan = perform::compile(rig, show, plan.get());
    auto setpoints = setpoints_of(*plan, still_wanted);
    if (!setpoints) continue;
    {
      const std::lock_guard lock(mutex_);
      setpoints_ = std::move(setpoints);
    }
    auto feasibility = feasibility_of(plan, still_wanted);
    if (!feasibility) continue;
    const std::lock_guard lock(mutex_);
    feasibility_ = std::move(feasibility);
  }
}

}  // namespace mien::editor
