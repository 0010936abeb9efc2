// Messages about baked shows: storing one on a board, asking how it goes, and keeping boards in step with no host. PROTOCOL.md has the
// bytes; encode() and decode() keep the promises of wire/codec.hpp.
#pragma once
#include "wire/framing.hpp"
#include "wire/messages.hpp"

namespace mien::wire {

inline constexpr int kMaxChunk = 128;  ///< half a flash page

enum class BakeFault : std::uint8_t {
  none = 0,
  empty = 1,        ///< nothing is stored
  unknown = 2,      ///< not a baked show, or of a version that the board doesn't read
  cut_short = 3,    ///< fewer bytes than it says it has
  damaged = 4,      ///< a CRC or the shape of a block is wrong
  absurd = 5,       ///< whole, but says what can't be
  other_board = 6,  ///< made for another address, or for outputs that the board lacks
};

enum class Phase : std::uint8_t {
  off = 0,      ///< nothing to play, or the host is there
  waiting = 1,  ///< silent, until it is started
  coming = 2,   ///< creeps to where everything begins
  living = 3,   ///< stands there; idle life comes up now and then
  clip = 4,     ///< a clip of idle life
  show = 5,
};

const char* name(BakeFault fault) noexcept;
const char* name(Phase phase) noexcept;

/// Make room for a baked show of so many bytes, and forget the one before; 0 only forgets. Answer: Acknowledgement, when that is done.
struct StoreBegin {
  std::uint8_t address = 0, token = 0;
  std::uint32_t size = 0;
};

/// The next bytes of it, or the same ones again where the answer was lost. Answer: Acknowledgement.
struct StoreChunk {
  std::uint8_t address = 0, token = 0;
  std::uint32_t offset = 0;
  std::uint8_t count = 0;  ///< 1..kMaxChunk
  std::uint8_t bytes[kMaxChunk] = {};
};

/// All bytes are there: is it whole? It plays from the next power-on. Answer: Playback.
struct StoreCommit {
  std::uint8_t address = 0, token = 0;
  std::uint16_t crc = 0;  ///< of all bytes
};

/// How goes it? Answer: Playback.
struct AskPlayback {
  std::uint8_t address = 0, token = 0;
};

/// From the board that leads, down the chain: this tick was played just now. Never answered.
struct Lead {
  std::uint32_t bake = 0;  ///< number of the baked show; a board with another one keeps still
  Phase phase = Phase::off;
  std::uint8_t track = 0;
  std::uint32_t tick = 0;
};

struct Playback {
  std::uint8_t address = 0, token = 0;
  BakeFault fault = BakeFault::empty;
  Phase phase = Phase::off;
  std::uint8_t track = 0;
  std::uint32_t tick = 0;      ///< that comes next
  std::uint32_t bake = 0;      ///< number of what is stored; 0: nothing
  std::uint32_t capacity = 0;  ///< bytes that the board can store
};

std::size_t encode(const StoreBegin&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const StoreChunk&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const StoreCommit&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const AskPlayback&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const Lead&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const Playback&, std::uint8_t* out, std::size_t capacity) noexcept;

bool decode(Bytes packet, StoreBegin& out) noexcept;
bool decode(Bytes packet, StoreChunk& out) noexcept;
bool decode(Bytes packet, StoreCommit& out) noexcept;
bool decode(Bytes packet, AskPlayback& out) noexcept;
bool decode(Bytes packet, Lead& out) noexcept;
bool decode(Bytes packet, Playback& out) noexcept;

}  // namespace mien::wire
