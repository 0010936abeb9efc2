#include "store/store.hpp"

#include <algorithm>
#include <new>

#include "show/validate.hpp"
#include "store/document.hpp"
#include "store/map_store.hpp"

namespace mien::store {
namespace {

using show::Finding;
using show::Findings;
using show::Severity;

constexpr std::uintmax_t kMegabyte = 1u << 20;
constexpr std::uintmax_t kLargestShow = 512 * kMegabyte;
constexpr std::uintmax_t kLargestRig = 16 * kMegabyte;

void append(Findings& findings, Findings more) {
  findings.insert(findings.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

// What came of opening a file: all that was found, and the content where none of it is an error.
template <class T>
struct Opened {
  std::optional<T> content;
  Findings findings;
};

template <class T>
show::Result<T> result_of(Opened<T> opened) {
  if (opened.content) {
    opened.content->notes = std::move(opened.findings);
    return std::move(*opened.content);
  }
  const auto is_error = [](const Finding& f) { return f.severity == Severity::error; };
  Finding first = *std::find_if(opened.findings.begin(), opened.findings.end(), is_error);
  const auto others = std::count_if(opened.findings.begin(), opened.findings.end(), is_error) - 1;
  if (others > 0) {
    first.cure += (first.cure.empty() ? "" : " ") + std::string("There ") +
                  (others == 1 ? "is 1 more error" : "are " + std::to_string(others) + " more errors") +
                  "; 'mien check' lists them all.";
  }
  return first;
}

// Memory that is not to be had must not end the program with work in it.
Finding no_memory(const Path& path) {
  return {Severity::error, path.string(), "", "does not fit into memory",
          "Close other programs, or check that it is the file you meant."};
}

template <class T, class Open>
Opened<T> within_memory(const Path& path, Open open) {
  try {
    return open();
  } catch (const std::bad_alloc&) { return {std::nullopt, {no_memory(path)}}; }
}

Opened<LoadedRig> rig_from(const std::string& text, const Path& path) {
  auto document = read_rig(text, path.string());
  if (!document) return {std::nullopt, {document.problem()}};
  Opened<LoadedRig> opened{std::nullopt, std::move(document->notes)};
  append(opened.findings, validate(document->content, path.string()));
  if (!has_errors(opened.findings))
    opened.content = LoadedRig{std::make_shared<const show::Rig>(std::move(document->content)), {}};
  return opened;
}

Opened<LoadedRig> open_rig(const Path& path) {
  return within_memory<LoadedRig>(path, [&]() -> Opened<LoadedRig> {
    auto text = read_file(path, kLargestRig);
    if (!text) return {std::nullopt, {text.problem()}};
    return rig_from(*text, path);
  });
}

Opened<LoadedLibrary> library_from(const std::string& text, const Path& path) {
  auto document = read_library(text, path.string());
  if (!document) return {std::nullopt, {document.problem()}};
  Opened<LoadedLibrary> opened{std::nullopt, std::move(document->notes)};
  append(opened.findings, validate(document->content, path.string()));
  if (!has_errors(opened.findings)) opened.content = LoadedLibrary{std::move(document->content), {}};
  return opened;
}

Findings missing_sounds(const show::Show& show, const Path& path) {
  Findings findings;
  for (const show::Sound& sound : show.sounds) {
    std::error_code error;
    if (std::filesystem::is_regular_file(path.parent_path() / sound.file, error)) continue;
    findings.push_back({Severity::warning, path.string(), "sound '" + sound.file + "'",
                        "the file is not there, so the show plays without it",
                        "Put it into the show's folder, or choose another sound."});
  }
  return findings;
}

Opened<Loaded> show_from(const std::string& text, const Path& path) {
  auto document = read_show(text, path.string());
  if (!document) return {std::nullopt, {document.problem()}};
  show::Show& show = document->content;
  Opened<Loaded> opened{std::nullopt, std::move(document->notes)};
  if (show.rig_file.empty()) {
    opened.findings.push_back({Severity::error, path.string(), "rig", "the show names no rig",
                               "Name a rig file, relative to the show's folder."});
    return opened;
  }
  auto rig = open_rig(rig_path(path, show));
  append(opened.findings, std::move(rig.findings));
  if (!rig.content) return opened;
  append(opened.findings, validate(show, *rig.content->rig, path.string()));
  append(opened.findings, missing_sounds(show, path));
  if (!has_errors(opened.findings))
    opened.content = Loaded{std::make_shared<const show::Show>(std::move(show)), rig.content->rig, {}};
  return opened;
}

// What is written must be readable: read(text, file) reads it as a load would, so nothing that a file can't say gets past it.
template <class T, class Read>
std::optional<Finding> save(const Path& path, const T& content, Read read, Disk& disk) {
  try {
    const std::string text = write_document(content);
    const auto back = read(text, path.string());
    if (back) return replace_file(path, text, disk);
    return Finding{Severity::error, path.string(), back.problem().place,
                   "is not saved, since it could not be read back: " + back.problem().what,
                   "Change that name or number, then save again."};
  } catch (const std::bad_alloc&) { return no_memory(path); }
}

}  // namespace

Path rig_path(const Path& show_path, const show::Show& show) { return show_path.parent_path() / show.rig_file; }

show::Result<LoadedRig> load_rig(const Path& path) { return result_of(open_rig(path)); }

show::Result<Loaded> load_show(const Path& path) {
  return result_of(within_memory<Loaded>(path, [&]() -> Opened<Loaded> {
    auto text = read_file(path, kLargestShow);
    if (!text) return {std::nullopt, {text.problem()}};
    return show_from(*text, path);
  }));
}

show::Result<LoadedLibrary> load_library(const Path& path) {
  return result_of(within_memory<LoadedLibrary>(path, [&]() -> Opened<LoadedLibrary> {
    auto text = read_file(path, kLargestShow);
    if (!text) return {std::nullopt, {text.problem()}};
    return library_from(*text, path);
  }));
}

Checked check_file(const Path& path) {
  Checked checked;
  auto opened = within_memory<Loaded>(path, [&]() -> Opened<Loaded> {
    auto text = read_file(path, kLargestShow);
    if (!text) return {std::nullopt, {text.problem()}};
    if (says_library(*text)) {
      checked.readable = bool(read_library(*text, path.string()));
      return {std::nullopt, library_from(*text, path).findings};
    }
    if (says_map(*text)) {
      const auto map = read_map(*text, path.string());
      checked.readable = bool(map);
      return {std::nullopt, map ? Findings{} : Findings{map.problem()}};
    }
    const bool is_rig = says_rig(*text);
    checked.readable = is_rig ? bool(read_rig(*text, path.string())) : bool(read_show(*text, path.string()));
    if (!is_rig) return show_from(*text, path);
    auto rig = rig_from(*text, path);
    Opened<Loaded> alone{std::nullopt, std::move(rig.findings)};
    if (rig.content) alone.content = Loaded{nullptr, rig.content->rig, {}};
    return alone;
  });
  checked.findings = std::move(opened.findings);
  if (opened.content) checked.show = opened.content->show, checked.rig = opened.content->rig;
  return checked;
}

std::optional<Finding> save_show(const Path& path, const show::Show& show, Disk& disk) {
  return save(path, show, read_show, disk);
}

std::optional<Finding> save_rig(const Path& path, const show::Rig& rig, Disk& disk) {
  return save(path, rig, read_rig, disk);
}

std::optional<Finding> save_library(const Path& path, const show::Library& library, Disk& disk) {
  return save(path, library, read_library, disk);
}

}  // namespace mien::store
