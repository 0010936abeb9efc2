// Ctrl-C and its kin, as something that a loop can wait for.
#pragma once
#include "link/wake.hpp"

namespace mien::app {

/// Rings once SIGINT or SIGTERM has come. Installs the handlers on first use, as does the next.
const link::Wake& interrupt();
bool interrupted() noexcept;
/// Sleeps that long, or until interrupted; returns whether it was.
bool wait_ms(int milliseconds);

}  // namespace mien::app
