// What the files of Conversation share: conversation.cpp says things to the boards, conversation_hear.cpp takes in what they say,
// conversation_view.cpp tells what the host makes of it.
#pragma once
#include <cstdint>
#include <string>

#include "link/peer.hpp"
#include "show/finding.hpp"

namespace mien::link {

inline constexpr std::int64_t kQuickHeartbeat_us = 10'000;  ///< until the board's clock is known
inline constexpr std::int64_t kAnswer_us = 150'000;         ///< a request without an answer by then is made again
inline constexpr std::int64_t kAgain_us = 500'000;          ///< after a refusal, and to look again at a board that does not fit
inline constexpr std::int64_t kPatience_us = 600'000;       ///< silence at the start that is worth a word

inline std::int64_t us(std::int64_t ns) noexcept { return ns / 1000; }

inline show::Finding finding(std::string place, std::string what, std::string cure, show::Severity severity = show::Severity::error) {
  return {severity, "", std::move(place), std::move(what), std::move(cure)};
}

inline std::string place_of(const Peer& peer) { return "board " + peer.name + " (address " + std::to_string(peer.address) + ")"; }

}  // namespace mien::link
