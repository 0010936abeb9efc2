// The text of a file, and back: format name, version, fields in a fixed order, old versions brought up to date. Inside src/store.
#pragma once
#include <string>
#include <string_view>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::store {

/// Raised when the shape of a file changes; what an older version looked like is then kept in a file of its own, as in version0.hpp.
inline constexpr int kVersion = 1;
/// What a show with poses, clips or layers is written as: version 1 with more lists. A Mien that reads only version 1 refuses it with words
/// instead of leaving them out; a show without them stays version 1 and is the same file as ever.
inline constexpr int kLayeredVersion = 2;
/// And one with cues, for the same reason.
inline constexpr int kCuedVersion = 3;
/// And one with a sound that is trimmed at its end.
inline constexpr int kTrimmedVersion = 4;
/// What a rig with a two-rod plate is written as, that an older Mien asks to be updated.
inline constexpr int kPlateVersion = 2;

template <class T>
struct Document {
  T content;
  show::Findings notes;  ///< that it was brought up to date from an older version
};

std::string write_document(const show::Show& show);
std::string write_document(const show::Rig& rig);
std::string write_document(const show::Library& library);

/// `file` is for the findings alone. What comes back is of the right shape; whether it makes sense is for validate() to say.
show::Result<Document<show::Show>> read_show(std::string_view text, const std::string& file);
show::Result<Document<show::Rig>> read_rig(std::string_view text, const std::string& file);

show::Result<Document<show::Library>> read_library(std::string_view text, const std::string& file);

/// True where the text says that it is a library's.
bool says_library(std::string_view text);
/// True where the text says that it is a rig's; for files that may be either.
bool says_rig(std::string_view text);

}  // namespace mien::store
