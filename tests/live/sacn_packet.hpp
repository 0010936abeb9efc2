// A sACN datagram, put together byte by byte from the tables of ANSI E1.31-2018 (root, framing and DMP layer), independently of the code that reads it.
#pragma once
#include <cstdint>
#include <string>
#include <vector>

namespace mien::live {

struct SacnSay {
  std::uint8_t cid = 1;         // all sixteen bytes of it
  std::uint8_t sequence = 1;
  int priority = 100, universe = 1;
  std::uint8_t options = 0, start_code = 0;
  std::vector<std::uint8_t> levels{};
  std::string name = "Desk";
};

inline std::vector<std::uint8_t> sacn_packet(const SacnSay& say) {
  std::vector<std::uint8_t> b;
  const auto put = [&](std::initializer_list<int> bytes) { for (const int byte : bytes) b.push_back(static_cast<std::uint8_t>(byte)); };
  const std::size_t total = 126 + say.levels.size();
  const auto length = [&](std::size_t from) { put({0x70 | static_cast<int>((total - from) >> 8), static_cast<int>((total - from) & 0xFF)}); };
  put({0x00, 0x10, 0x00, 0x00, 'A', 'S', 'C', '-', 'E', '1', '.', '1', '7', 0, 0, 0});
  length(16);
  put({0, 0, 0, 4});
  b.insert(b.end(), 16, say.cid);
  length(38);
  put({0, 0, 0, 2});
  std::string name = say.name;
  name.resize(64);
  b.insert(b.end(), name.begin(), name.end());
  put({say.priority, 0, 0, say.sequence, say.options, say.universe >> 8, say.universe & 0xFF});
  length(115);
  put({0x02, 0xA1, 0, 0, 0, 1, static_cast<int>((say.levels.size() + 1) >> 8), static_cast<int>((say.levels.size() + 1) & 0xFF), say.start_code});
  b.insert(b.end(), say.levels.begin(), say.levels.end());
  return b;
}

}  // namespace mien::live
