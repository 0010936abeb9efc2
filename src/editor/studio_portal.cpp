// The part of the studio that has the desktop's dialog for files, where Mien's own would be.
#include "editor/path_wording.hpp"
#include "editor/studio.hpp"

namespace mien::editor {
namespace {

constexpr const char* kPlace = "file dialogs";

}  // namespace

void Studio::use_desktop_dialogs(AskPortal ask, std::string window) { desktop_dialog_.use(std::move(ask), std::move(window)); }

// Esc is Stop only while this window has the keyboard, and another one's dialog would take it: a head that is driven, or will be as soon as its cable is back, keeps it here.
bool Studio::keeps_keyboard() const noexcept { return live() || link_.state == link::State::lost; }

// The question that `dialog_` is, as `panels_.path` has it: handed to the desktop where that may answer.
void Studio::ask_desktop() {
  panels_.path.where = PathState::Where::own;
  desktop_dialog_.close();
  if (settings_.dialogs == store::Settings::Dialogs::own || desktop_dialog_.none() || keeps_keyboard()) return;
  PathWanted wanted = wanted_of(dialog_);
  wanted.folder = panels_.path.folder, wanted.name = panels_.path.name;
  journal_.line("desktop asked: " + wanted.title);
  desktop_dialog_.ask(std::move(wanted));
  panels_.path.where = PathState::Where::asked, at_desktop_ = dialog_;
}

void Studio::own_dialog() {
  if (!desktop_dialog_.asking()) return;
  desktop_dialog_.close();
  panels_.path.where = PathState::Where::own, panels_.path.fresh = true;
  journal_.line("own dialog");
}

void Studio::follow_desktop_dialog() {
  // Whatever else was asked meanwhile, or answered in another way, closes it.
  if (desktop_dialog_.asking() && dialog_ != at_desktop_) desktop_dialog_.close(), journal_.line("desktop's dialog closed");
  if (keeps_keyboard()) own_dialog();
  if (desktop_dialog_.slow()) panels_.path.where = PathState::Where::desktop;
  const auto answer = desktop_dialog_.answer();
  if (!answer) return;
  panels_.path.where = PathState::Where::own, panels_.path.fresh = true;
  using What = PathAnswer::What;
  if (answer->what == What::chosen) {
    journal_.line("desktop chose " + answer->path.string());
    panels_.path.folder = answer->path.parent_path();
    return path_chosen(answer->path, true);
  }
  if (answer->what == What::cancelled) {
    journal_.line("desktop cancelled");
    return apply(Ask{Dialog::none});
  }
  // Mien's own is open from here on, for this question and the next.
  desktop_dialog_.serves_no_more();
  journal_.line("own dialog: " + answer->why);
  if (answer->what == What::failed)
    note(show::Finding{show::Severity::warning, "", kPlace, "the desktop\u2019s dialog for files can\u2019t be had: " + answer->why, "Choose in Mien\u2019s own, which opens until Mien is started anew, or for good: Window > File dialogs."});
}

void Studio::switch_dialogs() {
  using Dialogs = store::Settings::Dialogs;
  const bool own = settings_.dialogs == Dialogs::desktop;
  settings_.dialogs = own ? Dialogs::own : Dialogs::desktop;
  desktop_dialog_.try_again();
  save_settings();
  journal_.line("file dialogs " + std::string(store::name(settings_.dialogs)));
  std::erase_if(notices_, [](const show::Finding& f) { return f.place == kPlace; });
  notices_.push_back({show::Severity::note, "", kPlace, own ? "Files are chosen in Mien\u2019s own dialog from now on" : "Files are chosen in the desktop\u2019s dialog from now on, where there is one and no head is driven", ""});
}

}  // namespace mien::editor
