// Puts baked shows onto the boards behind a port: disarms them, sends each its own bytes, and asks whether they arrived whole.
#pragma once
#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <vector>

#include "link/wake.hpp"
#include "show/finding.hpp"

namespace mien::link {

struct BakedImage {
  std::string board;  ///< the rig's name for it
  int address = 0;
  std::span<const std::uint8_t> bytes;
};

/// Blocks until every board has its image, one of them can't, or `cancel` rings; in rising address, so that boards of a chain number
/// themselves. Boards that drive anything creep to rest first. `progress`, where given, hears of bytes stored, of all. Nothing comes back
/// when all is well: the boards play from their next power-on.
std::optional<show::Finding> store_baked(const std::string& port, std::span<const BakedImage> images, const Wake& cancel,
                                         const std::function<void(std::size_t done, std::size_t of)>& progress = {});

}  // namespace mien::link
