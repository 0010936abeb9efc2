// Whether something asked was done.
#pragma once
#include "wire/messages.hpp"

namespace mien::board {

/// What was asked was done, or why not; as a Refusal says it.
struct Verdict {
  wire::Reason reason = wire::Reason::none;
  std::uint8_t detail = 0;
  bool ok() const noexcept { return reason == wire::Reason::none; }
};

}  // namespace mien::board
