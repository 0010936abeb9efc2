#include <algorithm>
#include <cmath>

#include "show/rig.hpp"

namespace mien::show {

std::uint8_t auxiliary_value(const Auxiliary& auxiliary, const Control& control, double value) noexcept {
  const bool code = std::holds_alternative<Code>(auxiliary.kind);
  const double share = code ? value : (value - control.min) / (control.max - control.min) * 255;
  return share > 0 ? static_cast<std::uint8_t>(std::lround(std::min(share, 255.0))) : std::uint8_t{0};
}

}  // namespace mien::show
