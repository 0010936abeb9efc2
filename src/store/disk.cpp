#include "store/disk.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <system_error>

#include "show/text.hpp"

namespace mien::store {
namespace {

using show::Finding;
using show::Severity;

constexpr std::time_t kLitterAge_s = 60;  // a part that is younger may be one whose writer has not locked it yet
constexpr int kMostLinks = 40;  // as many symbolic links as Linux follows in one path

Finding problem(const std::string& file, std::string what, std::string cure) {
  return {Severity::error, file, "", std::move(what), std::move(cure)};
}

std::string reason(int error) { return std::generic_category().message(error); }

std::string cure_for(int error) {
  switch (error) {
    case ENOENT: return "Check the name, and that its folder exists.";
    case EACCES:
    case EPERM: return "Change the permissions of the file and its folder, or save under another name.";
    case EROFS: return "The disk is mounted read-only; save somewhere else.";
    case ENOSPC:
    case EDQUOT: return "Make room on the disk, or save somewhere else.";
    case ENAMETOOLONG: return "Choose a shorter name.";
    case ELOOP: return "The symbolic links lead in a circle; save under another name.";
    case EIO: return "The disk may be failing: save somewhere else, then check it.";
    default: return "Save somewhere else, then check the disk.";
  }
}

class OpenFile {
 public:
  explicit OpenFile(int file) noexcept : file_(file) {}
  ~OpenFile() {
    if (file_ >= 0) ::close(file_);
  }
  OpenFile(const OpenFile&) = delete;
  OpenFile& operator=(const OpenFile&) = delete;
  int get() const noexcept { return file_; }

 private:
  int file_;
};

// Where a save must go so that a symbolic link stays one. Nothing where the links lead in a circle.
std::optional<std::filesystem::path> followed(std::filesystem::path path) {
  std::error_code error;
  for (int i = 0; i < kMostLinks; ++i) {
    if (!std::filesystem::is_symlink(path, error)) return path;
    const auto target = std::filesystem::read_symlink(path, error);
    if (error) return std::nullopt;
    path = target.is_absolute() ? target : path.parent_path() / target;
  }
  return std::nullopt;
}

// What saves left that were killed: parts that nobody holds any more. Whoever writes one holds a lock on it.
void sweep(const std::filesystem::path& folder) {
  std::error_code problem;
  for (std::filesystem::directory_iterator it(folder, problem), end; !problem && it != end; it.increment(problem)) {
    const std::string name = it->path().filename().string();
    if (!name.starts_with(".mien-") || !name.ends_with(".part")) continue;
    const OpenFile part(::open(it->path().c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC));
    struct stat info {};
    if (part.get() < 0 || ::fstat(part.get(), &info) != 0 || !S_ISREG(info.st_mode) || std::time(nullptr) - info.st_mtime < kLitterAge_s) continue;
    if (::flock(part.get(), LOCK_EX | LOCK_NB) == 0) ::unlink(it->path().c_str());
  }
}

// One save: knows how far it came, so that a failure at any step leaves nothing behind.
class Replacement {
 public:
  Replacement(Disk& disk, std::string target) : disk_(disk), target_(std::move(target)) {
    const auto parent = std::filesystem::path(target_).parent_path().string();
    folder_ = parent.empty() ? "." : parent;
  }

  std::optional<Finding> run(std::string_view bytes) {
    struct stat old {};
    const bool exists = ::stat(target_.c_str(), &old) == 0;
    if (exists && !S_ISREG(old.st_mode))
      return problem(target_, "is not a file that can be saved to", "Choose another name.");
    if (exists && ::access(target_.c_str(), W_OK) != 0) return failed("can't be changed");
    if (!create()) return failed("can't write in folder '" + folder_ + "'");
    if (exists) keep_permissions(old);
    if (!write(bytes)) return failed("can't be written");
    if (disk_.sync(file_) != 0) return failed("can't be written safely");
    if (disk_.close(std::exchange(file_, -1)) != 0) return failed("can't be written");
    if (disk_.rename(temporary_, target_) != 0) return failed("can't be put in place");
    temporary_.clear();
    if (disk_.sync_folder(folder_) != 0 && errno != EINVAL) {  // EINVAL: a file system that can't sync folders
      return problem(target_,
                     "is saved, but the disk does not confirm it (" + reason(errno) + "), so a power cut could undo it",
                     "Save again, or somewhere else.");
    }
    sweep(folder_);
    return std::nullopt;
  }

 private:
  bool create() {
    static std::atomic<unsigned> counter{0};
    for (int tries = 0; tries < 100; ++tries) {
      // Not made from the target's name, which may be as long as a name can be.
      temporary_ = folder_ + "/.mien-" + std::to_string(::getpid()) + "-" + std::to_string(counter++) + ".part";
      file_ = disk_.create(temporary_, 0666);
      if (file_ >= 0) {
        if (::flock(file_, LOCK_EX | LOCK_NB) != 0) errno = 0;  // where files can't be locked, litter stays litter
        return true;
      }
      if (errno != EEXIST) break;
    }
    temporary_.clear();
    return false;
  }

  // As far as the system allows: another person's file saved by us becomes ours, with the same permissions.
  void keep_permissions(const struct stat& old) {
    if (::fchown(file_, old.st_uid, old.st_gid) != 0) errno = 0;
    if (::fchmod(file_, old.st_mode & 07777) != 0) errno = 0;
  }

  bool write(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t written = disk_.write(file_, bytes.data(), bytes.size());
      if (written < 0 && errno == EINTR) continue;
      if (written == 0) errno = EIO;
      if (written <= 0) return false;
      bytes.remove_prefix(static_cast<std::size_t>(written));
    }
    return true;
  }

  Finding failed(const std::string& what) {
    const int error = errno;
    if (file_ >= 0) disk_.close(std::exchange(file_, -1));
    if (!temporary_.empty()) disk_.remove(temporary_);
    return problem(target_, "is not saved: " + what + " (" + reason(error) + "); what was there before is unchanged",
                   cure_for(error));
  }

  Disk& disk_;
  std::string target_, folder_, temporary_;
  int file_ = -1;
};

}  // namespace

int Disk::create(const std::string& path, mode_t mode) {
  return ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
}
ssize_t Disk::write(int file, const char* data, std::size_t size) { return ::write(file, data, size); }
int Disk::sync(int file) { return ::fsync(file); }
int Disk::close(int file) { return ::close(file); }
int Disk::rename(const std::string& from, const std::string& to) { return std::rename(from.c_str(), to.c_str()); }
int Disk::remove(const std::string& path) { return ::unlink(path.c_str()); }

int Disk::sync_folder(const std::string& folder) {
  const OpenFile open(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  return open.get() < 0 ? -1 : ::fsync(open.get());
}

Disk& real_disk() {
  static Disk disk;
  return disk;
}

show::Result<std::string> read_file(const std::filesystem::path& path, std::uintmax_t limit_bytes) {
  const std::string file = path.string();
  // Without waiting: a pipe that nobody writes to would keep us here for ever.
  const OpenFile open(::open(file.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC));
  if (open.get() < 0) {
    const int error = errno;
    return problem(file, "can't be opened (" + reason(error) + ")",
                   error == ENOENT ? "Check the name and the folder." : "Check that it may be read by you.");
  }
  struct stat info {};
  if (::fstat(open.get(), &info) != 0) return problem(file, "can't be read (" + reason(errno) + ")", "Check the disk.");
  if (S_ISDIR(info.st_mode)) return problem(file, "is a folder", "Name a file in it.");
  if (!S_ISREG(info.st_mode)) return problem(file, "is not a file but a device or a pipe", "Name a file.");
  const auto size = static_cast<std::uintmax_t>(info.st_size);
  if (size == 0) return problem(file, "is empty (zero bytes)", "Take it from a backup.");
  if (size > limit_bytes) {
    return problem(file,
                   "has " + std::to_string(size >> 20) + " MB; more than " + std::to_string(limit_bytes >> 20) +
                       " MB are not read",
                   "Check that it is the file you meant.");
  }
  std::string bytes(size, '\0');
  std::size_t filled = 0;
  while (filled < bytes.size()) {
    const ssize_t got = ::read(open.get(), bytes.data() + filled, bytes.size() - filled);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0)
      return problem(file, "can't be read (" + reason(errno) + ")", "Check the disk, or take the file from a backup.");
    if (got == 0) break;  // it was cut while we read; what it says then is up to the reader of its content
    filled += static_cast<std::size_t>(got);
  }
  bytes.resize(filled);
  return bytes;
}

std::optional<Finding> replace_file(const std::filesystem::path& path, std::string_view bytes, Disk& disk) {
  const auto target = followed(path);
  if (!target) return problem(path.string(), "is not saved: its symbolic links lead nowhere", cure_for(ELOOP));
  if (target->filename().empty())
    return problem(path.string(), "is not saved: it names a folder", "Name a file in it.");
  return Replacement(disk, target->string()).run(bytes);
}

}  // namespace mien::store
