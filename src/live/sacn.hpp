// Streaming ACN: a lighting desk's levels over a network. Packets, and what the sources of one universe come to. Pure: no socket, no clock.
//
// Source: ANSI E1.31-2018 (numbers of its tables and sections, and the rule for sequence numbers, from memory). Packet layout: its tables 4-1 (root layer, vector 00000004), 4-2 and 6-1 (framing layer, vector 00000002) and 4-3 and 7-1 (device management protocol layer);
// 512 slots make 638 bytes. Options: 6.2.6. Sequence numbers: 6.7.2. Loss: 6.7.1, E131_NETWORK_DATA_LOSS_TIMEOUT = 2.5 s. Multicast address: 9.3.1.
#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "live/touch.hpp"

namespace mien::live {

inline constexpr std::uint16_t kSacnPort = 5568;
inline constexpr int kMostSlots = 512, kMostUniverse = 63'999, kMostPriority = 200;
inline constexpr std::int64_t kSacnLoss_ns = 2'500'000'000;

using Cid = std::array<std::uint8_t, 16>;  ///< which source, as long as it lives

/// Views into the datagram.
struct SacnPacket {
  Cid cid{};
  std::string_view name{};
  int priority = 100;             ///< 0..200
  std::uint8_t sequence = 0;
  bool preview = false;           ///< not for live output
  bool terminated = false;        ///< the source says good-bye: its levels mean nothing
  int universe = 1;
  std::uint8_t start_code = 0;    ///< 0: levels; others mean something else
  std::span<const std::uint8_t> slots{};  ///< at most 512
};

/// Nothing where any fixed byte, length, count or range is not as the tables say. Bytes beyond the root layer's length are left alone.
std::optional<SacnPacket> read_sacn(std::span<const std::uint8_t> datagram) noexcept;

/// 239.255.hi.lo: where a universe is multicast to.
constexpr std::uint32_t sacn_group(int universe) noexcept { return 0xEFFF'0000u | static_cast<std::uint32_t>(universe & 0xFFFF); }

/// The sources of one universe, and the levels that they come to: those of the highest priority that is being sent, and among equals the highest of each slot.
/// The highest, and not the latest: two desks that send 44 times a second each would otherwise make every slot leap between theirs, and a head shake. A value.
class SacnUniverse {
 public:
  static constexpr std::size_t kMostSources = 8;
  enum class Heard : std::uint8_t { levels, terminated, preview, out_of_order, not_levels, other_universe, too_many };

  struct Source {
    Cid cid{};
    std::string name;
    int priority = 100;
    std::uint8_t sequence = 0;
    std::int64_t heard_ns = 0;
    int count = 0;
    std::array<std::uint8_t, kMostSlots> level{};
  };

  explicit SacnUniverse(int universe = 1) : universe_(universe) {}
  Heard hear(const SacnPacket& packet, std::int64_t at_ns);
  /// Forgets sources that were silent for kSacnLoss_ns; true where one was.
  bool expire(std::int64_t at_ns);

  /// Of a slot from 1 to 512: 0..255; -1 where no source of the highest priority sends it.
  int level(int slot) const noexcept;
  const std::vector<Source>& sources() const noexcept { return sources_; }
  int universe() const noexcept { return universe_; }

 private:
  int universe_;
  std::vector<Source> sources_;
};

struct SacnCounts {
  std::uint64_t packets = 0, broken = 0, out_of_order = 0, preview = 0, other = 0, touches = 0;
  friend bool operator==(const SacnCounts&, const SacnCounts&) = default;
};

/// Makes touches of a universe: one for each slot whose level changed, and slots_gone when the last source is. For one thread.
class SacnEar {
 public:
  SacnEar(Inlet& inlet, int device, int universe) : inlet_(inlet), device_(static_cast<std::uint8_t>(device)), universe_(universe) { told_.fill(-1); }
  void hear(std::span<const std::uint8_t> datagram, std::int64_t at_ns);
  /// Losses, and what found no room in the inlet. Every few milliseconds while any_waits(), else ten times a second.
  void catch_up(std::int64_t at_ns);
  bool any_waits() const noexcept { return waits_; }
  const SacnUniverse& universe() const noexcept { return universe_; }
  const SacnCounts& counts() const noexcept { return counts_; }

 private:
  void tell(std::int64_t at_ns);

  Inlet& inlet_;
  const std::uint8_t device_;
  SacnUniverse universe_;
  std::array<int, kMostSlots> told_;
  bool there_ = false, waits_ = false;
  SacnCounts counts_;
};

}  // namespace mien::live
