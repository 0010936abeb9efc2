// Compiled parts name one another by int, -1 for none; containers count in std::size_t.
#pragma once
#include <cstddef>

namespace mien::motion {

/// The place in a container that an index names; it must not be negative.
inline std::size_t at(int index) noexcept { return static_cast<std::size_t>(index); }

}  // namespace mien::motion
