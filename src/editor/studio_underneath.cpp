// The part of the studio that minds what other programs do to the files of the show that is open: they are looked at once a second, and nothing that another wrote is
// written over without a yes.
#include "editor/studio.hpp"
#include "store/store.hpp"
#include "threads/steady.hpp"

namespace mien::editor {
namespace fs = std::filesystem;
namespace {

constexpr std::int64_t kLook_ns = 1'000'000'000;

}  // namespace

// `show`: its file as it is known here.
void Studio::watch_files(const store::Stamp& show) {
  under_ = {};
  if (document_.file().empty()) return;
  under_.rig_file = store::rig_path(document_.file(), document_.whole());
  under_.show = under_.told_show = show;
  under_.rig = under_.told_rig = store::stamp_of(under_.rig_file);
  under_.open = store::OpenShow::take(places_.state, document_.file());
  if (under_.open.held()) return;
  note(show::Finding{show::Severity::warning, document_.file().string(), "", "is open in another window, too", "Work in one of them: whoever saves second is asked before anything is written over."});
}

void Studio::follow_files() {
  if (!document_.open() || document_.file().empty() || threads::steady_ns() < under_.look_ns) return;
  under_.look_ns = threads::steady_ns() + kLook_ns;
  const auto look = [&](const fs::path& file, store::Stamp& told, const char* cure) {
    const store::Stamp now = store::stamp_of(file);
    if (now == told) return;
    const bool gone = told.there && !now.there;
    told = now;
    journal_.line((gone ? "gone " : "replaced ") + file.string());
    // The newest of its kind is enough.
    std::erase_if(notices_, [&](const show::Finding& f) { return f.place == "on the disk" && f.file == file.string(); });
    note(show::Finding{show::Severity::warning, file.string(), "on the disk", gone ? "was deleted or moved away while it is open here" : "was changed by another program while it is open here", gone ? "Saving makes it anew." : cure});
  };
  look(document_.file(), under_.told_show, document_.unsaved() ? "Your changes are all here, and saving asks before it writes over the other\u2019s; under another name you keep both."
                                                              : "Open it again to see what is there; saving asks before it writes over it.");
  look(under_.rig_file, under_.told_rig, "Open the show again to work with the rig as it is now.");
}

// The files that saving there would write over, though they hold what was not read or written here.
std::vector<fs::path> Studio::others_at(const fs::path& target) const {
  std::vector<fs::path> found;
  if (store::changed_since(target, target == document_.file() ? under_.show : store::Stamp{})) found.push_back(target);
  if (!document_.rig_unsaved()) return found;
  const fs::path rig = store::rig_path(target, document_.whole());
  if (rig == under_.rig_file && store::changed_since(rig, under_.rig)) found.push_back(rig);
  return found;
}

// `agreed`: the person was asked about that file by name. What another program did to the show's own they weren't told.
bool Studio::save_if_ours(const fs::path& target, bool agreed) {
  panels_.replaced = {target, others_at(target), false, Dialog::save_as};
  if (agreed && target != document_.file()) std::erase(panels_.replaced.files, target);
  if (panels_.replaced.files.empty()) return save_as(target);
  panels_.replaced.own = target == document_.file();
  journal_.line("asked before writing over " + panels_.replaced.files.front().string());
  dialog_ = Dialog::replaced;
  return false;
}

}  // namespace mien::editor
