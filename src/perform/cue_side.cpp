#include "perform/cue_side.hpp"

#include <algorithm>

namespace mien::perform {
namespace {

bool in_list(int cue) noexcept { return cue >= 0 && cue < static_cast<int>(show::kMaxCues); }

}  // namespace

CueSide::CueSide() noexcept {
  for (auto& phase : phase_) phase.store(CuePhase::ready, std::memory_order_relaxed);
}

int CueSide::index_of(std::string_view name) {
  const std::lock_guard lock(names_);
  return named_ ? show::cue_index(named_->cues, name) : -1;
}

bool CueSide::start(std::string_view name) {
  const int cue = index_of(name);
  start(cue);
  return cue >= 0;
}

bool CueSide::release(std::string_view name) {
  const int cue = index_of(name);
  release(cue);
  return cue >= 0;
}

void CueSide::start(int cue) noexcept {
  if (!in_list(cue)) return;
  starts_[static_cast<std::size_t>(cue)].fetch_add(1, std::memory_order_relaxed);
  asked_.store(true, std::memory_order_release);
}

void CueSide::release(int cue) noexcept {
  if (!in_list(cue)) return;
  releases_[static_cast<std::size_t>(cue)].fetch_add(1, std::memory_order_relaxed);
  asked_.store(true, std::memory_order_release);
}

CuePhase CueSide::phase(int cue) const noexcept { return in_list(cue) ? phase_[static_cast<std::size_t>(cue)].load(std::memory_order_relaxed) : CuePhase::ready; }

void CueSide::set_names(show::ShowPtr show) {
  const std::lock_guard lock(names_);
  named_ = std::move(show);
}

void CueSide::take_plan(const Plan& plan, const Plan* before) noexcept {
  const bool same = before && plan.show->cues.size() == before->show->cues.size() &&
                    std::equal(plan.show->cues.begin(), plan.show->cues.end(), before->show->cues.begin(), [](const auto& a, const auto& b) { return a.name == b.name; });
  if (!before || same) return;
  for (std::size_t n = 0; n < show::kMaxCues; ++n) {
    started_[n] = starts_[n].load(std::memory_order_relaxed), released_[n] = releases_[n].load(std::memory_order_relaxed);
    phase_[n].store(CuePhase::ready, std::memory_order_relaxed);
  }
}

void CueSide::hear(const Plan& plan, Head& head) noexcept {
  const bool asked = asked_.load(std::memory_order_relaxed) && asked_.exchange(false, std::memory_order_acquire);
  for (std::size_t n = 0; asked && n < show::kMaxCues; ++n) {
    const std::uint32_t starts = starts_[n].load(std::memory_order_relaxed), releases = releases_[n].load(std::memory_order_relaxed);
    const int cue = static_cast<int>(n);
    if (starts != started_[n] && plan.cues) perform::start(*plan.cues, head.cues, cue);
    if (releases != released_[n] && plan.cues) perform::release(*plan.cues, head.cues, cue);
    started_[n] = starts, released_[n] = releases;
  }
  hear_hands(plan, head);
}

const CuesNow& CueSide::report(const Plan& plan, const Head& head, show::Time show) noexcept {
  now_.live = head.cues.live;
  now_.begun = head.cues.begun;
  now_.count = static_cast<int>(head.cues.runs.size());
  for (std::size_t n = 0; n < head.cues.runs.size(); ++n) {
    const CueState::Run& run = head.cues.runs[n];
    const bool runs = run.phase == CuePhase::playing && run.chosen >= 0;
    now_.cue[n] = {run.phase, run.wanted, static_cast<std::int16_t>(runs ? run.chosen : -1), share_of(*plan.cues, head.cues, static_cast<int>(n), show)};
    phase_[n].store(run.phase, std::memory_order_relaxed);
  }
  return now_;
}

void hear_hands(const Plan& plan, Head& head) noexcept {
  using What = live::HandState::CueAsk::What;
  for (std::size_t n = 0; n < head.hands.cue_asks; ++n) {
    const auto& ask = head.hands.cue_ask[n];
    if (!plan.cues || static_cast<std::size_t>(ask.cue) >= head.cues.runs.size()) continue;
    const CuePhase phase = head.cues.runs[static_cast<std::size_t>(ask.cue)].phase;
    const bool on = phase == CuePhase::playing || phase == CuePhase::holding;
    const bool starts = ask.what == What::start || (ask.what == What::change_over && !on);
    starts ? start(*plan.cues, head.cues, ask.cue) : release(*plan.cues, head.cues, ask.cue);
  }
  head.hands.cue_asks = 0;
}

}  // namespace mien::perform
