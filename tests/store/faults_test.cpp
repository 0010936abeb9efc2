// Saves that are broken off for real: the process is killed, the disk is full, the folder can't be written to. What was there, or what was to be there, is there whole.
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/file.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <random>
#include <sstream>

#include "store/recovery.hpp"
#include "store/samples.hpp"
#include "store/store.hpp"
#include "support/fault.hpp"
#include "support/folder.hpp"
#include "support/mounts.hpp"

namespace mien::store {
namespace {

namespace fs = std::filesystem;
using support::Fault;

// The small show with its number for a name, and so many keys that it takes some time to write.
show::Show numbered(const show::Show& small, int number, int keys = 3000) {
  show::Show show = small;
  show.name = std::to_string(number);
  show.length = std::chrono::seconds(keys);
  show::Channel channel{"blink", {}};
  for (int k = 0; k < keys; ++k) channel.keys.push_back({show::Time{k * 1'000'000'000ll}, (number + k) % 97 / 97.0});
  show.channels = {std::make_shared<const show::Channel>(std::move(channel))};
  return show;
}

std::vector<fs::path> parts(const fs::path& folder) {
  std::vector<fs::path> found;
  for (const auto& e : fs::directory_iterator(folder))
    if (e.path().extension() == ".part") found.push_back(e.path());
  return found;
}

std::size_t files(const fs::path& folder) { return static_cast<std::size_t>(std::distance(fs::directory_iterator(folder), fs::directory_iterator())); }

// As if it lay there since yesterday.
void age(const fs::path& file) {
  const timespec times[2] = {{::time(nullptr) - 86400, 0}, {::time(nullptr) - 86400, 0}};
  ::utimensat(AT_FDCWD, file.c_str(), times, 0);
}

// What a process that saves tells of itself, in memory that outlives it.
struct Progress {
  std::atomic<int> begun{0}, done{0};
};

TEST(Faults, ASaveThatIsKilledLeavesTheOldFileOrTheNewOne) {
  Fault fault("`kill -9` in the midst of saving, at a random moment", "the show as last saved, or as just being saved, whole; no litter after the next save");
  const support::Folder folder;
  fs::copy_file(kSamples / "small.show.json", folder / "a.show.json");
  fs::copy_file(kSamples / "small.rig.json", folder / "small.rig.json");
  const auto small = load_show(folder / "a.show.json");
  ASSERT_TRUE(small) << show::to_text(small.problem());
  auto* progress = static_cast<Progress*>(::mmap(nullptr, sizeof(Progress), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0));
  ASSERT_NE(progress, MAP_FAILED);
  new (progress) Progress;
  // How long a save takes here, and what is saved to be made: a kill falls anywhere in two of them.
  const auto first = std::chrono::steady_clock::now();
  for (int n = 0; n < 2; ++n) ASSERT_FALSE(save_show(folder / "a.show.json", numbered(*small->show, n)));
  const auto two_us = std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::steady_clock::now() - first).count();
  std::mt19937 random(81);
  int midway = 0, kept_new = 0, number = 0;
  for (int kill = 0; kill < 200; ++kill) {
    const pid_t child = ::fork();
    if (child == 0) {
      for (int n = number + 1;; ++n) {
        const show::Show show = numbered(*small->show, n);
        progress->begun = n;
        if (save_show(folder / "a.show.json", show)) ::_exit(3);
        progress->done = n;
      }
    }
    while (progress->begun == number) ::usleep(50);
    ::usleep(static_cast<useconds_t>(random() % static_cast<unsigned>(two_us)));
    ASSERT_EQ(::kill(child, SIGKILL), 0);
    int status = 0;
    ASSERT_EQ(::waitpid(child, &status, 0), child);
    ASSERT_TRUE(WIFSIGNALED(status)) << "a save failed before it was killed";
    fault.made();
    midway += !parts(folder.path()).empty();
    const auto left = load_show(folder / "a.show.json");
    const int done = progress->done, begun = progress->begun;
    if (!left) fault.lost("the file can't be read: " + show::to_text(left.problem()));
    else if (done > 0) {
      const int has = std::atoi(left->show->name.c_str());
      kept_new += has == begun && begun != done;
      if (has != done && has != begun) fault.lost("the file has save " + std::to_string(has) + ", where " + std::to_string(done) + " was the last that was said to be done");
      else if (!show::same(*left->show, numbered(*small->show, has))) fault.lost("save " + std::to_string(has) + " is not what was saved");
    }
    number = begun;
    // What a killed save left of its own must not pile up: the next save that goes well takes it away, once it is old enough to be nobody's.
    for (const auto& part : parts(folder.path())) age(part);
    if (const auto failed = save_show(folder / "a.show.json", numbered(*small->show, ++number))) fault.lost("the next save fails: " + show::to_text(*failed));
    progress->begun = progress->done = number;
    if (files(folder.path()) != 2) fault.lost("litter remains after the next save");
  }
  std::printf("of these, %d left part of a new file beside the old one, and %d were in place but not yet said to be\n", midway, kept_new);
  EXPECT_GT(midway, 20) << "hardly any was killed while it wrote";
  ::munmap(progress, sizeof(Progress));
}

// What is being written by another process, or was a moment ago, is no litter.
TEST(Faults, ASaveTakesAwayNothingOfASaveUnderWay) {
  const support::Folder folder;
  const auto small = load_show(kSamples / "small.show.json");
  ASSERT_TRUE(small);
  support::write(folder / ".mien-1-2.part", "fresh");
  support::write(folder / ".mien-3-4.part", "held");
  support::write(folder / ".mien-notes.txt", "somebody's own");
  support::write(folder / "x.part", "somebody's own");
  const int held = ::open((folder / ".mien-3-4.part").c_str(), O_RDWR | O_CLOEXEC);
  ASSERT_EQ(::flock(held, LOCK_EX), 0);
  for (const char* name : {".mien-3-4.part", ".mien-notes.txt", "x.part"}) age(folder / name);
  ASSERT_FALSE(save_show(folder / "a.show.json", *small->show));
  EXPECT_EQ(files(folder.path()), 5u);
  ::close(held);
  ASSERT_FALSE(save_show(folder / "a.show.json", *small->show));
  EXPECT_EQ(files(folder.path()), 4u);
}

// A disk that takes so many bytes and no more.
class FullDisk : public Disk {
 public:
  explicit FullDisk(std::size_t room) : room_(room) {}
  ssize_t write(int file, const char* data, std::size_t size) override {
    if (room_ == 0) return errno = ENOSPC, -1;
    const ssize_t wrote = Disk::write(file, data, std::min(size, room_));
    if (wrote > 0) room_ -= static_cast<std::size_t>(wrote);
    return wrote;
  }

 private:
  std::size_t room_;
};

TEST(Faults, ADiskThatIsFullAfterAnyNumberOfBytesLeavesTheOldFile) {
  Fault fault("disk full after N bytes, for N all along the file", "the old show; the message says to make room");
  const support::Folder folder;
  const auto small = load_show(kSamples / "small.show.json");
  ASSERT_TRUE(small);
  const fs::path file = folder / "a.show.json";
  ASSERT_FALSE(save_show(file, *small->show));
  const std::string before = support::read(file);
  const show::Show changed = numbered(*small->show, 7, 300);
  ASSERT_FALSE(save_show(folder / "b.show.json", changed));
  const std::size_t size = fs::file_size(folder / "b.show.json");
  fs::remove(folder / "b.show.json");
  for (std::size_t room = 0; room < size; room += size / 300 + 1) {
    FullDisk disk(room);
    const auto said = save_show(file, changed, disk);
    fault.made();
    if (!said || said->cure.find("Make room") == std::string::npos) fault.lost("nothing was said of it");
    if (support::read(file) != before) fault.lost("the old show");
    if (files(folder.path()) != 1) fault.lost("litter remains");
  }
  FullDisk enough(size);
  EXPECT_FALSE(save_show(file, changed, enough));
}

// Adds up what a process of tests said: "made" once a fault, else a line a loss.
void add(Fault& fault, const support::Told& told) {
  if (!told.could || told.text.starts_with("no file system")) {
    fault.not_here(told.text);
    return;
  }
  std::istringstream lines(told.text);
  for (std::string line; std::getline(lines, line);) line == "made" ? fault.made() : fault.lost(line);
}

TEST(Faults, AFileSystemThatIsFullLeavesTheOldFile) {
  Fault fault("disk full (a file system of 512 kB), with any room left; no more files to be had", "the old show; the message says to make room; saved once there is");
  const support::Folder folder;
  const auto small = load_show(kSamples / "small.show.json");
  ASSERT_TRUE(small);
  const show::Show large = numbered(*small->show, 7, 9000);  // some 280 kB
  const std::string at = folder.path().string();
  add(fault, support::in_a_child([&] {
    std::string said;
    if (::mount("none", at.c_str(), "tmpfs", 0, "size=512k,nr_inodes=16") != 0) return std::string("no file system: ") + std::strerror(errno);
    const fs::path file = folder / "a.show.json", ballast = folder / "ballast";
    if (save_show(file, *small->show)) return std::string("the first save failed");
    const std::string before = support::read(file);
    std::mt19937 random(82);
    const auto broken = [&](const char* how) {
      const auto problem = save_show(file, large);
      said += "made\n";
      if (!problem || problem->cure.find("Make room") == std::string::npos) said += std::string(how) + ": nothing was said of it\n";
      if (support::read(file) != before) said += std::string(how) + ": the old show\n";
      if (!parts(folder.path()).empty()) said += std::string(how) + ": litter remains\n";
    };
    for (int n = 0; n < 40; ++n) {
      const int to = ::open(ballast.c_str(), O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
      if (::posix_fallocate(to, 0, 256 * 1024 + static_cast<off_t>(random() % 60) * 4096) != 0 && n == 0) said += "the disk was full before\n";
      ::close(to);
      broken("full");
      fs::remove(ballast);
    }
    for (int n = 0; n < 16; ++n) support::write(folder / std::to_string(n), "");
    broken("no more files");
    for (int n = 0; n < 16; ++n) fs::remove(folder / std::to_string(n));
    if (const auto problem = save_show(file, large)) said += "not saved though there was room: " + show::to_text(*problem) + "\n";
    const auto read = check_file(file);  // its rig is not here: only the file itself
    if (!read.readable) said += "what was saved can't be read\n";
    return said;
  }, true));
  if (::testing::Test::HasFailure()) return;
  // The work that no person saved yet is on a disk that is full, too: it is said, and what was kept before stays.
  Fault work("disk full while unsaved work is kept", "the work as last kept; it is said that no more is kept");
  add(work, support::in_a_child([&] {
    if (::mount("none", at.c_str(), "tmpfs", 0, "size=128k") != 0) return std::string("no file system: ") + std::strerror(errno);
    std::string said;
    Keeper keeper(folder.path());
    keeper.keep({"/a.show.json", 1, small->show, nullptr});
    keeper.settle();
    keeper.keep({"/a.show.json", 2, std::make_shared<const show::Show>(large), nullptr});
    keeper.settle();
    said += "made\n";
    if (!keeper.problem()) said += "nothing was said of it\n";
    Left left;
    left.recovery = keeper.file();
    const auto has = read_left(left);
    if (!has || !show::same(*has->show, *small->show)) said += "what was kept before\n";
    return said;
  }, true));
}

TEST(Faults, AFolderThatCantBeWrittenToLeavesTheOldFile) {
  Fault fault("read-only folder: a read-only file system, and a folder without permission", "the old show, rig and library; the message says what to do");
  const support::Folder folder;
  const auto small = load_show(kSamples / "small.show.json");
  ASSERT_TRUE(small);
  const fs::path show_file = folder / "a.show.json", rig_file = folder / "a.rig.json", library_file = folder / "a.clips.json";
  const show::Show large = numbered(*small->show, 7, 300);
  show::Rig rig = *small->rig;
  const show::Library library{"looks", {std::make_shared<const show::Pose>(show::Pose{"glad", {}, "", {{"blink", 1}}})}, {}};
  const auto broken = [&](const char* cure) {
    std::string said;
    rig.name = "Another";
    const std::string before[] = {support::read(show_file), support::read(rig_file), support::read(library_file)};
    const std::optional<show::Finding> problems[] = {save_show(show_file, large), save_rig(rig_file, rig), save_library(library_file, library)};
    const fs::path paths[] = {show_file, rig_file, library_file};
    for (int n = 0; n < 3; ++n) {
      said += "made\n";
      if (!problems[n] || problems[n]->cure.find(cure) == std::string::npos) said += "nothing was said of it: " + (problems[n] ? show::to_text(*problems[n]) : "") + "\n";
      if (before[n].empty() || support::read(paths[n]) != before[n]) said += "the old file\n";
    }
    if (files(folder.path()) != 3) said += "litter remains\n";
    return said;
  };
  const auto furnish = [&] { return !save_show(show_file, *small->show) && !save_rig(rig_file, *small->rig) && !save_library(library_file, {"none", {}, {}}); };
  add(fault, support::in_a_child([&] {
    if (::mount("none", folder.path().c_str(), "tmpfs", 0, "size=512k") != 0) return std::string("no file system: ") + std::strerror(errno);
    if (!furnish()) return std::string("the first save failed");
    if (::mount("none", folder.path().c_str(), "tmpfs", MS_REMOUNT | MS_RDONLY, "size=512k") != 0) return std::string("not made read-only: ") + std::strerror(errno);
    return broken("read-only");
  }, true));
  // By permission: as nobody, since the superuser writes anywhere.
  ASSERT_TRUE(furnish());
  for (const auto& file : {show_file, rig_file, library_file}) fs::permissions(file, fs::perms::all);
  fs::permissions(folder.path(), fs::perms::owner_read | fs::perms::owner_exec | fs::perms::others_read | fs::perms::others_exec);
  add(fault, support::in_a_child([&] {
    constexpr uid_t kNobody = 65534;
    if (::geteuid() == 0 && (::setgid(kNobody) != 0 || ::setuid(kNobody) != 0)) return std::string("no file system for nobody: the superuser's rights could not be given up");
    return broken("permissions");
  }, false));
  fs::permissions(folder.path(), fs::perms::owner_all);
}

}  // namespace
}  // namespace mien::store
