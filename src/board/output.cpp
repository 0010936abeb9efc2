#include "board/output.hpp"

namespace mien::board {
namespace {

constexpr std::uint32_t kLongestCredit_us = 20'000;
constexpr int kGentleShift = 3;  // an eighth

std::uint16_t clamp(std::uint16_t pulse, const wire::OutputLimits& l) noexcept {
  return pulse < l.min ? l.min : pulse > l.max ? l.max : pulse;
}

}  // namespace

void Output::configure(const wire::OutputLimits& limits) noexcept {
  limits_ = limits;
  rate_ = (static_cast<std::uint64_t>(limits.slew) << 32) / 1'000'000u;
  configured_ = true;
}

bool Output::aim(std::uint16_t pulse) noexcept {
  if (!driven_) {
    position_ = known_ ? clamp(position_, limits_) : limits_.rest;
    known_ = driven_ = true;
    credit_ = 0;
  }
  target_ = clamp(pulse, limits_);
  gentle_ = false;
  fresh_ = true;
  return target_ != pulse;
}

void Output::aim_at_rest() noexcept {
  if (!driven_) return;
  target_ = limits_.rest;
  gentle_ = true;
  fresh_ = false;
  credit_ = 0;
}

void Output::stay() noexcept {
  target_ = position_;
  fresh_ = false;
  credit_ = 0;
}

void Output::accrue(std::uint32_t elapsed_us) noexcept {
  if (!driven_) return;
  const std::uint64_t rate = gentle_ ? rate_ >> kGentleShift : rate_;
  const std::uint64_t most = rate * kLongestCredit_us;
  if (elapsed_us < kLongestCredit_us) credit_ += rate * elapsed_us;
  if (elapsed_us >= kLongestCredit_us || credit_ > most) credit_ = most;
}

bool Output::move() noexcept {
  if (!driven_) return false;
  const bool up = target_ > position_;
  const std::uint64_t distance = static_cast<std::uint64_t>(up ? target_ - position_ : position_ - target_);
  const std::uint64_t allowed = credit_ >> 32;
  const bool held_back = distance > allowed;
  if (held_back) {
    position_ = static_cast<std::uint16_t>(up ? position_ + allowed : position_ - allowed);
    credit_ -= allowed << 32;
  } else if (distance > 0) {
    position_ = target_;
    credit_ = 0;
  }
  const bool first_try = fresh_;
  fresh_ = false;
  return held_back && first_try;
}

}  // namespace mien::board
