#include "editor/arrive_job.hpp"

#include <algorithm>

namespace mien::editor {
namespace {

perform::Arrival arrive(const perform::PlanPtr& plan, const std::optional<perform::Shortfall>& which, const std::function<bool(double)>& progress) {
  const perform::Study found = perform::study(*plan, {}, [&] { return progress(0); });
  if (!found.whole) return {*plan->show, {}, {}, true};
  if (!which) return perform::make_it_arrive(plan, found, {}, progress);
  // The finding may be from a study of a moment ago: the same trouble counts, whatever its size is now.
  const auto same = std::find_if(found.shortfalls.begin(), found.shortfalls.end(), [&](const perform::Shortfall& s) {
    return s.cause == which->cause && s.control == which->control && s.actuator == which->actuator && s.key == which->key;
  });
  if (same == found.shortfalls.end()) return {*plan->show, {}, found, false};
  return perform::make_it_arrive(plan, found, static_cast<std::size_t>(same - found.shortfalls.begin()), progress);
}

}  // namespace

void ArriveJob::start(std::shared_ptr<const show::Rig> rig, show::ShowPtr show, std::optional<perform::Shortfall> which) {
  if (running_) return;
  running_ = true, stop_ = false, ready_ = false, share_ = 0;
  thread_ = std::jthread([this, rig = std::move(rig), show = std::move(show), which] {
    const auto plan = perform::compile(rig, show);
    done_ = {show, which, arrive(plan, which, [this](double share) {
               share_ = share;
               return !stop_;
             })};
    ready_ = true;
  });
}

std::optional<ArriveJob::Done> ArriveJob::take() {
  if (!ready_) return {};
  thread_.join();
  ready_ = false, running_ = false;
  return std::move(done_);
}

}  // namespace mien::editor
