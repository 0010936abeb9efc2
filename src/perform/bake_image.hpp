// Tracks of pulses into the bytes that a board keeps; board/BAKED.md. For bake.cpp.
#pragma once
#include "link/peer.hpp"
#include "perform/bake.hpp"

namespace mien::perform {

/// Of a baked show, so that boards know whether they keep the same one: a hash of all its pulses, never 0.
std::uint32_t number_of(const std::vector<Track>& tracks);

/// One board's share of all tracks.
std::vector<std::uint8_t> image_of(const link::Peer& board, int tick_hz, const std::vector<Track>& tracks, const BakeSettings& settings,
                                   std::uint32_t number);

}  // namespace mien::perform
