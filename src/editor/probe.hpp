// Lets a test find what the window shows: while a probe listens, every widget that can be used says its name and place.
#pragma once
#include <imgui.h>

#include <map>
#include <string>

namespace mien::editor {

struct Probe {
  struct Box { ImVec2 min, max; };
  std::map<std::string, Box> boxes;
};

/// Set by a test around its frames; nullptr in the program, where mark() is one comparison.
inline Probe* listening_probe = nullptr;

inline void mark(const char* name, ImVec2 min, ImVec2 max) {
  if (listening_probe) listening_probe->boxes[name] = {min, max};
}
/// Marks the widget just submitted.
inline void mark(const char* name) {
  if (listening_probe) mark(name, ImGui::GetItemRectMin(), ImGui::GetItemRectMax());
}

}  // namespace mien::editor
