// What would be lost when the program ends without asking: the unsaved work of every window, in files of the program's own, kept up to date
// by a thread beside the window. A window that ended well leaves none; what one left that was killed is found by the next.
//
// A file `NAME.recovery` holds a few lines `name = value` (file, name, time_s, edits, bytes), an empty line, then the show's text and, where
// they were unsaved, too, the rig's and those of words and phones. It is replaced in one step, so it is whole or the one before it. `NAME.lock` beside it is
// locked (flock) by the window that writes it, for as long as its process lives: the system lets go of it however the process ends, so
// that the work of a living window is offered to nobody, and that of a dead one to one window only.
#pragma once
#include <condition_variable>
#include <filesystem>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::store {

/// An open lock file; the lock goes with it.
class Claim {
 public:
  /// Not held where another process holds it, or the file can't be made.
  static Claim take(const std::filesystem::path& file, bool make);
  Claim() = default;
  ~Claim();
  Claim(Claim&& other) noexcept : file_(std::exchange(other.file_, -1)) {}
  Claim& operator=(Claim&& other) noexcept;
  bool held() const noexcept { return file_ >= 0; }

 private:
  int file_ = -1;
};

/// A text that belongs to the show and stands in a file beside it once that is saved: words and phones of a sound.
struct Beside {
  std::string sound;  ///< whose, as the show names it
  std::shared_ptr<const std::string> text;
};

/// What was being worked on.
struct Work {
  std::filesystem::path file;  ///< where the show was last saved; empty: never
  int edits = 0;               ///< since then
  show::ShowPtr show;
  std::shared_ptr<const show::Rig> rig;  ///< only where it was unsaved, too
  std::vector<Beside> beside{};          ///< likewise
};

/// What a window left that ended without being asked to.
struct Left {
  std::filesystem::path recovery;  ///< the file that holds it
  std::filesystem::path file;      ///< as in Work
  std::string name;                ///< of the show; empty where it can't be read
  std::int64_t time_s = 0;         ///< of the last edit that is held, seconds since 1970
  int edits = 0;
  std::shared_ptr<Claim> claim;    ///< this window's, while the others may not offer it
};
/// The newest first. Takes a claim on each: drop the value to let it go.
std::vector<Left> left_behind(const std::filesystem::path& folder);
/// The show (and rig) that it holds; a finding where the file can't be read.
show::Result<Work> read_left(const Left& left);
/// Throws it away.
void forget(const Left& left);

/// One window's recovery file. An empty folder: nothing is kept.
class Keeper {
 public:
  explicit Keeper(const std::filesystem::path& folder);
  /// Writes what is pending. What was kept and not dropped stays for the next window: that is how an end by signal loses nothing.
  ~Keeper();
  Keeper(const Keeper&) = delete;
  Keeper& operator=(const Keeper&) = delete;

  /// Remembers what to write and returns at once; written within kSoonest of the write before it, in the thread's own time. Only the newest counts.
  void keep(Work work);
  /// Everything is saved, or not wanted: the file goes.
  void drop();
  /// The work goes on here: the other file goes once this window's own holds something.
  void take_over(Left left);
  /// Waits until what was asked for is on the disk, or can't be.
  void settle();
  /// Why the last write failed; once.
  std::optional<show::Finding> problem();
  const std::filesystem::path& file() const noexcept { return file_; }

  static constexpr std::chrono::milliseconds kSoonest{500};

 private:
  void run();
  void write(const Work& work);
  std::filesystem::path file_, lock_;
  Claim claim_;
  std::mutex mutex_;
  std::condition_variable news_, done_;
  std::optional<Work> next_;
  std::vector<Left> taken_over_;
  std::optional<show::Finding> problem_;
  bool dropped_ = false, busy_ = false, end_ = false;
  std::thread thread_;
};

}  // namespace mien::store
