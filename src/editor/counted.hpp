// How many of what, in words.
#pragma once
#include <cstddef>
#include <string>

namespace mien::editor {

/// "1 servo", "2 servos".
inline std::string counted(std::size_t n, const char* one) { return std::to_string(n) + " " + one + (n == 1 ? "" : "s"); }

/// As undo names it: "Move key", "Move 3 keys".
inline std::string counted_keys(const char* verb, std::size_t n) { return std::string(verb) + (n == 1 ? " key" : " " + std::to_string(n) + " keys"); }

}  // namespace mien::editor
