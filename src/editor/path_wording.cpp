#include "editor/path_wording.hpp"

#include <array>
#include <cctype>
#include <string>

namespace mien::editor {
namespace {

constexpr std::array kSoundEndings{".wav", ".flac", ".ogg", ".oga", ".opus", ".mp3", ".aif", ".aiff", ".au"};
constexpr const char *kShow = ".show.json", *kLibrary = ".clips.json";

// `.wav` as *.[wW][aA][vV]: the portal's own way to match other capitals (org.freedesktop.portal.FileChooser, "filters").
std::string glob_of(std::string_view ending) {
  std::string glob = "*";
  for (const char c : ending) {
    if (std::isalpha(static_cast<unsigned char>(c))) glob += {'[', static_cast<char>(std::tolower(c)), static_cast<char>(std::toupper(c)), ']'};
    else glob += c;
  }
  return glob;
}

PathFilter filter_of(Dialog which) {
  switch (which) {
    case Dialog::new_show: return {"Rigs", {"*.rig.json"}};
    case Dialog::import_library:
    case Dialog::export_library: return {"Libraries", {std::string("*") + kLibrary}};
    case Dialog::import_labels:
    case Dialog::export_labels: return {"Words and phones", {glob_of(".TextGrid"), glob_of(".lab"), glob_of(".tsv")}};
    case Dialog::add_sound: {
      PathFilter sounds{"Sounds", {}};
      for (const char* ending : kSoundEndings) sounds.globs.push_back(glob_of(ending));
      return sounds;
    }
    default: return {"Shows", {std::string("*") + kShow}};
  }
}

}  // namespace

bool asks_for_path(Dialog d) noexcept {
  return d == Dialog::open_show || d == Dialog::new_show || d == Dialog::save_as || d == Dialog::import_library || d == Dialog::export_library || d == Dialog::import_labels || d == Dialog::export_labels ||
         d == Dialog::add_sound;
}

PathWording wording_of(Dialog which) noexcept {
  switch (which) {
    case Dialog::save_as: return {"Save the show as", "A show is a file NAME.show.json.", "Save", kShow, true};
    case Dialog::new_show: return {"New show: choose its rig", "The rig is the head that the show is for: a file NAME.rig.json.", "Begin", ".rig.json"};
    case Dialog::import_library: return {"Take poses and clips from a library", "A library is a file NAME.clips.json. What the show has under the same name stays as it is.", "Take", kLibrary};
    case Dialog::export_library: return {"Give poses and clips to a library", "All that the show has go to a file NAME.clips.json, for other shows to take.", "Give", kLibrary, true};
    case Dialog::import_labels: return {"Take words and phones from a file", "When each word and phone is heard: TextGrid, lab (HTK), or tsv (tab-separated). The mouth is made anew of them.", "Take", ""};
    case Dialog::export_labels: return {"Give words and phones to a file", "Its ending says which labels: NAME.TextGrid, NAME.lab (HTK), or NAME.tsv (tab-separated).", "Give", "", true};
    case Dialog::add_sound: return {"Add a sound at the playhead", "A recording or music: WAV, FLAC, Ogg, Opus, MP3 or AIFF.", "Add", ""};
    default: return {"Open a show", "A show is a file NAME.show.json.", "Open", kShow};
  }
}

std::span<const char* const> sound_endings() noexcept { return kSoundEndings; }

PathWanted wanted_of(Dialog which) {
  const PathWording say = wording_of(which);
  PathWanted wanted;
  wanted.save = say.saves, wanted.title = say.title, wanted.accept = say.action;
  wanted.filters = {filter_of(which), {"All files", {"*"}}};
  return wanted;
}

}  // namespace mien::editor
