#include "editor/command.hpp"

#include <utility>

namespace mien::editor {

Command::Command(const Command&) = default;
Command::Command(Command&&) noexcept = default;
Command& Command::operator=(const Command&) = default;
Command& Command::operator=(Command&&) noexcept = default;
Command::~Command() = default;

void add(Commands& all, Commands more) {
  for (Command& c : more) all.push_back(std::move(c));
}

}  // namespace mien::editor
