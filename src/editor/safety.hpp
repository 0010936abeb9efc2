// What the safety column says for each state: a word that reads from across the bench, a shape, and what it means.
#pragma once
#include <string_view>

#include "link/session.hpp"
#include "perform/performer.hpp"

namespace mien::editor {

enum class SafetyShape { ring, dotted, ring_and_dot, half, solid, cross };
struct SafetyWord { std::string_view word, meaning; SafetyShape shape; };
SafetyWord safety_word(link::State state, perform::Mode mode) noexcept;

}  // namespace mien::editor
