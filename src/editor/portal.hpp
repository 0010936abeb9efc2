// The desktop's own dialog for files, where there is one: the XDG Desktop Portal's interface org.freedesktop.portal.FileChooser (versions 1 to 4), spoken over the session's
// D-Bus by libdbus-1. Without that library everything builds, and the answer is always that there is none.
#pragma once
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "editor/job.hpp"

namespace mien::editor {

/// A kind of file that the dialog offers to show alone. Globs are those of the portal, case-sensitive.
struct PathFilter {
  std::string name;
  std::vector<std::string> globs;
};

struct PathWanted {
  bool save = false;                ///< a name to write to, else a file that is there
  std::string title, accept;        ///< of the dialog and of its button; UTF-8
  std::vector<PathFilter> filters;  ///< the first is the usual one; UTF-8
  std::filesystem::path folder;     ///< to begin in; empty: as the desktop likes
  std::string name;                 ///< suggested, for save; left out where it is not UTF-8
  std::string parent;               ///< the window that asks, as the portal's "Common Conventions" have it: "x11:" and its number in hexadecimal; empty: none
  int patience_s = 25;              ///< how long the bus, and then the portal, may take to take the question, as long as D-Bus waits by itself; the person has all the time there is
};

struct PathAnswer {
  enum class What {
    chosen,     ///< `path` is set. Where it was to be saved to, the desktop has asked before writing over what is there
    cancelled,  ///< by the person, or since go_on said so
    none,       ///< there is no such dialog on this desktop, or this Mien was built without D-Bus
    failed,     ///< there is, but it gave no answer
  } what = What::none;
  std::filesystem::path path;  ///< absolute
  std::string why;             ///< of none and failed, as the end of a sentence
};

/// Opens the desktop's dialog and waits for the person; where `go_on` says false, closes it. Blocks: never on the window's thread. Safe on several threads at once, each with a connection of its own.
PathAnswer ask_portal(const PathWanted& wanted, const GoOn& go_on);
/// Who is asked: ask_portal, or a test's own.
using AskPortal = std::function<PathAnswer(const PathWanted&, const GoOn&)>;

/// Where the Request of a call is going to be, by the documentation of org.freedesktop.portal.Request: the caller's unique name without its colon and with `_` for each `.`, then the token.
std::string request_path(std::string_view unique_name, std::string_view token);

/// The file that a URI names: "file:" with an empty host or "localhost" (RFC 8089), percent-decoded once (RFC 3986, 2.1). Nothing for any other URI, for a relative path, a percent sign without
/// two hexadecimal digits, an encoded zero, and a query or fragment, which a file has none of.
std::optional<std::filesystem::path> path_of_uri(std::string_view uri);

}  // namespace mien::editor
