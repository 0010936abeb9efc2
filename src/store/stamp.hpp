// Whether a file is still what it was when we read or wrote it, and whether another window has it open.
#pragma once
#include <cstdint>
#include <filesystem>
#include <optional>

#include "show/finding.hpp"
#include "store/recovery.hpp"

namespace mien::store {

/// What tells a file's content from another without reading it. A file that was only touched counts as another: better one question too many.
struct Stamp {
  bool there = false;
  std::uint64_t device = 0, inode = 0, bytes = 0;
  std::int64_t changed_ns = 0;  ///< of the content, since 1970, as the file system says
  bool operator==(const Stamp&) const = default;
};
/// Follows symbolic links. Take it before reading, and after writing: a change in between then shows.
Stamp stamp_of(const std::filesystem::path& file);

/// A finding where another file stands there than `known`; nothing where it is the same, or none is there, so that nothing would be lost by writing.
std::optional<show::Finding> changed_since(const std::filesystem::path& file, const Stamp& known);

/// One window's word that it has a show open, for the other windows of the same person. It ends with the process, however that ends.
class OpenShow {
 public:
  OpenShow() = default;
  /// `state`: the folder of what the program remembers; empty: nobody is told, and it counts as held. Not held where another window holds the same file.
  static OpenShow take(const std::filesystem::path& state, const std::filesystem::path& show);
  ~OpenShow();
  OpenShow(OpenShow&& other) noexcept = default;
  OpenShow& operator=(OpenShow&& other) noexcept;
  bool held() const noexcept { return claim_.held() || lock_.empty(); }

 private:
  std::filesystem::path lock_;
  Claim claim_;
};

}  // namespace mien::store
