// mien edit: the window.
#include "app/commands.hpp"
#include "editor/editor.hpp"

namespace mien::app {

int run_edit(const EditWords& words) {
  editor::Options options;
  options.show = words.show;
  options.port = words.port;
  options.theme = words.theme;
  options.mute = words.mute;
  options.scale = static_cast<float>(words.scale);
  options.width = words.width;
  options.height = words.height;
  options.journal = words.journal;
  const auto problem = editor::run(options);
  return problem ? tell(*problem) : kFine;
}

}  // namespace mien::app
