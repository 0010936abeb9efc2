// What commands share that read a show, change it and write it.
#pragma once
#include <filesystem>
#include <functional>
#include <string>

#include "show/finding.hpp"
#include "store/stamp.hpp"
#include "store/store.hpp"

namespace mien::app {

/// The path that leads to the same file from a folder.
std::string seen_from(const std::filesystem::path& folder, const std::filesystem::path& file);

/// Rig and sounds are named relative to the show's folder, which may be another for the file that is written.
void move_references(show::Show& show, const std::string& from_file, const std::string& to_file);

/// Why `out` may not be written now: it is `file`, as `read` says that it was when it was read, and another program has changed it since.
std::optional<show::Finding> changed_meanwhile(const std::string& file, const store::Stamp& read, const std::string& out);

/// Loads the show, changes it and writes it to `out`; returns the exit code. The edit returns what to print when it is written, or the finding
/// that keeps it from being written. Nothing is written that validate() has an error for.
struct Editing {
  show::Show show;
  std::shared_ptr<const show::Rig> rig;
};
int edit_show(const std::string& file, const std::string& out, const std::function<show::Result<std::string>(Editing&)>& edit);

/// The poses and clips of a file that is a show or a library.
show::Result<store::LoadedLibrary> library_in(const std::string& file);

/// An error in what was asked for; place may be empty.
show::Finding refused(const std::string& file, std::string place, std::string what, std::string cure);

/// Seconds as on the command line.
show::Result<show::Time> time_of(const std::string& text, const std::string& option);

}  // namespace mien::app
