#include "store/recovery.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <ctime>

#include "store/disk.hpp"
#include "store/document.hpp"
#include "store/settings.hpp"

namespace mien::store {
namespace {

namespace fs = std::filesystem;
using show::Finding;
using show::Severity;

constexpr std::uintmax_t kLargestRecovery = 600u << 20;
constexpr std::string_view kFirst = "# Work that was not saved when Mien ended. Start 'mien edit' to be offered it.\n";

// A path on one line: what would end or hide it as in a URL (RFC 3986, section 2.1).
std::string escaped(const std::string& path) {
  constexpr char kHex[] = "0123456789ABCDEF";
  std::string text;
  for (const char c : path) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte <= ' ' || c == '%' || byte == 0x7F) text += {'%', kHex[byte >> 4], kHex[byte & 15]};
    else text += c;
  }
  return text;
}
std::string unescaped(std::string_view text) {
  std::string path;
  for (std::size_t i = 0; i < text.size(); ++i) {
    int byte = 0;
    if (text[i] == '%' && i + 2 < text.size() && std::from_chars(&text[i + 1], &text[i + 3], byte, 16).ptr == &text[i + 3]) path += static_cast<char>(byte), i += 2;
    else path += text[i];
  }
  return path;
}

template <class N>
N number_of(std::string_view text) {
  N n = 0;
  std::from_chars(text.data(), text.data() + text.size(), n);
  return n;
}

struct Held {
  Left left;
  std::string show, rig;
  std::vector<Beside> beside;
};
// Nothing where the file is not one of ours, or not whole.
std::optional<Held> read_held(const fs::path& file) {
  auto text = read_file(file, kLargestRecovery);
  if (!text) return std::nullopt;
  const auto gap = text->find("\n\n");
  if (!text->starts_with(kFirst) || gap == std::string::npos) return std::nullopt;
  Held held;
  held.left.recovery = file;
  std::size_t show_bytes = 0, rig_bytes = 0;
  struct Text { std::string sound; std::size_t bytes; };
  std::vector<Text> texts;
  for (const Entry& e : read_entries(std::string_view(*text).substr(0, gap), "").entries) {
    if (e.name == "file") held.left.file = unescaped(e.value);
    if (e.name == "name") held.left.name = unescaped(e.value);
    if (e.name == "time_s") held.left.time_s = number_of<std::int64_t>(e.value);
    if (e.name == "edits") held.left.edits = number_of<int>(e.value);
    if (e.name == "show_bytes") show_bytes = number_of<std::size_t>(e.value);
    if (e.name == "rig_bytes") rig_bytes = number_of<std::size_t>(e.value);
    if (!e.name.starts_with("beside_")) continue;  // "BYTES SOUND"
    const auto space = e.value.find(' ');
    if (space == std::string::npos) return std::nullopt;
    texts.push_back({unescaped(std::string_view(e.value).substr(space + 1)), number_of<std::size_t>(std::string_view(e.value).substr(0, space))});
  }
  std::size_t at = gap + 2;
  const auto next = [&](std::size_t bytes) -> std::optional<std::string> {
    if (bytes > text->size() - at) return std::nullopt;
    at += bytes;
    return text->substr(at - bytes, bytes);
  };
  auto show = next(show_bytes), rig = next(rig_bytes);
  if (!show || !rig) return std::nullopt;
  held.show = std::move(*show), held.rig = std::move(*rig);
  for (const Text& t : texts) {
    auto beside = next(t.bytes);
    if (!beside) return std::nullopt;
    held.beside.push_back({t.sound, std::make_shared<const std::string>(std::move(*beside))});
  }
  if (at != text->size()) return std::nullopt;
  return held;
}

fs::path lock_of(fs::path recovery) { return recovery.replace_extension(".lock"); }

}  // namespace

Claim Claim::take(const fs::path& file, bool make) {
  Claim claim;
  const int opened = ::open(file.c_str(), O_RDWR | O_CLOEXEC | (make ? O_CREAT : 0), 0600);
  if (opened < 0) return claim;
  struct stat here {}, there {};
  // Whoever held it before us may have deleted it: a lock on a file without a name keeps nobody out.
  if (::flock(opened, LOCK_EX | LOCK_NB) != 0 || ::fstat(opened, &here) != 0 || ::stat(file.c_str(), &there) != 0 || here.st_ino != there.st_ino) {
    ::close(opened);
    return claim;
  }
  claim.file_ = opened;
  return claim;
}

Claim::~Claim() {
  if (file_ >= 0) ::close(file_);
}

Claim& Claim::operator=(Claim&& other) noexcept {
  std::swap(file_, other.file_);
  return *this;
}

std::vector<Left> left_behind(const fs::path& folder) {
  std::vector<Left> found;
  std::error_code problem;
  if (folder.empty()) return found;
  std::vector<fs::path> locks;
  for (fs::directory_iterator it(folder, problem), end; !problem && it != end; it.increment(problem))
    if (it->path().extension() == ".lock") locks.push_back(it->path());
  for (const fs::path& lock : locks) {
    auto claim = std::make_shared<Claim>(Claim::take(lock, false));
    if (!claim->held()) continue;
    fs::path recovery = lock;
    recovery.replace_extension(".recovery");
    std::error_code ignored;
    if (!fs::exists(recovery, ignored)) {  // it had nothing unsaved
      fs::remove(lock, ignored);
      continue;
    }
    auto held = read_held(recovery);
    if (!held) continue;  // not ours to delete
    held->left.claim = std::move(claim);
    found.push_back(std::move(held->left));
  }
  std::sort(found.begin(), found.end(), [](const Left& a, const Left& b) { return a.time_s > b.time_s; });
  return found;
}

show::Result<Work> read_left(const Left& left) {
  const std::string file = left.recovery.string();
  const auto held = read_held(left.recovery);
  if (!held) return Finding{Severity::error, file, "", "the unsaved work can't be read", "Copy the file somewhere safe and look into it: the show's text stands below its first lines."};
  auto show = read_show(held->show, file);
  if (!show) return show.problem();
  Work work{left.file, left.edits, std::make_shared<const show::Show>(std::move(show->content)), nullptr, held->beside};
  if (held->rig.empty()) return work;
  auto rig = read_rig(held->rig, file);
  if (!rig) return rig.problem();
  work.rig = std::make_shared<const show::Rig>(std::move(rig->content));
  return work;
}

void forget(const Left& left) {
  std::error_code ignored;
  fs::remove(left.recovery, ignored);
  fs::remove(lock_of(left.recovery), ignored);
}

Keeper::Keeper(const fs::path& folder) {
  if (folder.empty()) return;
  std::error_code problem;
  fs::create_directories(folder, problem);
  for (int tries = 0; tries < 100 && !claim_.held(); ++tries) {
    const std::string name = std::to_string(std::time(nullptr)) + "-" + std::to_string(::getpid()) + "-" + std::to_string(tries);
    lock_ = folder / (name + ".lock");
    std::error_code ignored;
    if (!fs::exists(lock_, ignored)) claim_ = Claim::take(lock_, true);
  }
  if (!claim_.held()) {
    problem_ = Finding{Severity::warning, folder.string(), "", "nothing can be written there, so unsaved work would not survive a crash", "Make the folder writable, or save often."};
    return;
  }
  file_ = lock_;
  file_.replace_extension(".recovery");
  thread_ = std::thread([this] { run(); });
}

Keeper::~Keeper() {
  if (!thread_.joinable()) return;
  {
    const std::lock_guard lock(mutex_);
    end_ = true;
  }
  news_.notify_all();
  thread_.join();
  std::error_code ignored;
  if (!fs::exists(file_, ignored)) fs::remove(lock_, ignored);
}

void Keeper::keep(Work work) {
  if (file_.empty()) return;
  {
    const std::lock_guard lock(mutex_);
    next_ = std::move(work);
    dropped_ = false;
  }
  news_.notify_all();
}

void Keeper::drop() {
  if (file_.empty()) return;
  {
    const std::lock_guard lock(mutex_);
    next_.reset();
    dropped_ = true;
  }
  news_.notify_all();
}

void Keeper::take_over(Left left) {
  const std::lock_guard lock(mutex_);
  taken_over_.push_back(std::move(left));
}

void Keeper::settle() {
  if (file_.empty()) return;
  std::unique_lock lock(mutex_);
  done_.wait(lock, [this] { return !next_ && !dropped_ && !busy_; });
}

std::optional<Finding> Keeper::problem() {
  const std::lock_guard lock(mutex_);
  return std::exchange(problem_, std::nullopt);
}

void Keeper::write(const Work& work) {
  const std::string show = write_document(*work.show), rig = work.rig ? write_document(*work.rig) : "";
  std::string text(kFirst);
  text += "file = " + escaped(work.file.string()) + "\nname = " + escaped(work.show->name) + "\ntime_s = " + std::to_string(std::time(nullptr)) +
          "\nedits = " + std::to_string(work.edits) + "\nshow_bytes = " + std::to_string(show.size()) + "\nrig_bytes = " + std::to_string(rig.size()) + "\n";
  for (std::size_t n = 0; n < work.beside.size(); ++n) text += "beside_" + std::to_string(n + 1) + " = " + std::to_string(work.beside[n].text->size()) + " " + escaped(work.beside[n].sound) + "\n";
  text += "\n" + show + rig;
  for (const Beside& b : work.beside) text += *b.text;
  const auto failed = replace_file(file_, text);
  const std::lock_guard lock(mutex_);
  if (failed) {
    problem_ = failed;
    problem_->severity = Severity::warning;
    return;
  }
  for (const Left& left : taken_over_) forget(left);
  taken_over_.clear();
}

void Keeper::run() {
  std::unique_lock lock(mutex_);
  auto next_write = std::chrono::steady_clock::now();
  for (;;) {
    news_.wait(lock, [this] { return end_ || next_ || dropped_; });
    if (dropped_) {
      dropped_ = false, busy_ = true;
      std::vector<Left> over = std::exchange(taken_over_, {});
      lock.unlock();
      std::error_code ignored;
      fs::remove(file_, ignored);
      for (const Left& left : over) forget(left);
      lock.lock();
      busy_ = false;
      done_.notify_all();
      continue;
    }
    if (!next_) return;  // the end, and nothing is left to do
    // Many edits in a row are one write; the last of them waits for no more than this.
    if (!end_ && std::chrono::steady_clock::now() < next_write) {
      news_.wait_until(lock, next_write, [this] { return end_ || dropped_; });
      if (dropped_ || !next_) continue;
    }
    const Work work = std::move(*next_);
    next_.reset();
    busy_ = true;
    lock.unlock();
    write(work);
    next_write = std::chrono::steady_clock::now() + kSoonest;
    lock.lock();
    busy_ = false;
    done_.notify_all();
  }
}

}  // namespace mien::store
