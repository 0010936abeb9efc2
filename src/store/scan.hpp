// The first look at a file's text, before any library sees it: strict JSON (RFC 8259) within bounds, in one pass, so that
// whatever is wrong has a line number and nothing can exhaust stack or memory. On the way it takes out the bulk of a show,
// the key rows, which then never become JSON values at all.
#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "show/finding.hpp"
#include "show/show.hpp"

namespace mien::store {

/// Bounds on what a file may hold; far beyond any head or show, far below what hurts.
inline constexpr int kMostNested = 16;
inline constexpr std::size_t kMostFields = 64;         ///< in one object
inline constexpr std::size_t kMostValues = 5'000'000;  ///< besides key rows
inline constexpr std::size_t kMostKeys = 10'000'000;

struct Scanned {
  /// The text without its key rows: for each list of strings named "keys" a text of kKeysMark and its place in `keys`. The
  /// mark is a control character, which no file may contain, so a file can't pretend.
  std::string document;
  std::vector<std::vector<show::Keyframe>> keys;
};
inline constexpr char kKeysMark = '\x01';

/// The top level must be an object. Refused as well: control characters in texts (escaped or not), invalid UTF-8, a field
/// named twice, words such as NaN, a key row that is none.
show::Result<Scanned> scan(std::string_view text, const std::string& file);

/// Text of unknown content, fit to be shown in a message: short, and printable ASCII only.
std::string shown(std::string_view text);

}  // namespace mien::store
