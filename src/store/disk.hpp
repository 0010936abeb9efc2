// Whole files in and out. Reading trusts nothing about the file; writing replaces it in one step or not at all.
#pragma once
#include <sys/types.h>

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "show/finding.hpp"

namespace mien::store {

/// The steps of a save that a disk can refuse. Each returns what the system call of its name returns, with errno.
class Disk {
 public:
  virtual ~Disk() = default;
  /// A new file for writing only; fails where one of this name exists.
  virtual int create(const std::string& path, mode_t mode);
  virtual ssize_t write(int file, const char* data, std::size_t size);
  virtual int sync(int file);
  virtual int close(int file);
  virtual int rename(const std::string& from, const std::string& to);
  virtual int sync_folder(const std::string& folder);
  virtual int remove(const std::string& path);
};

Disk& real_disk();

/// The whole of a regular file. Refused before a byte is read: what is not a regular file, an empty file, one of more than
/// `limit_bytes`.
show::Result<std::string> read_file(const std::filesystem::path& path, std::uintmax_t limit_bytes);

/// Writes beside the file under a name of its own, syncs, renames over the file and syncs the folder. Nothing where all of it
/// went well. On failure the old file is as it was and nothing is left beside it; only when the last step fails is the new
/// file in place already, and the finding says so. What saves that were killed left in the folder (`.mien-*.part`, a minute old or more, held by nobody) goes with
/// the next that goes well.
std::optional<show::Finding> replace_file(const std::filesystem::path& path, std::string_view bytes, Disk& disk = real_disk());

}  // namespace mien::store
