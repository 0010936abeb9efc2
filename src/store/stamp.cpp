#include "store/stamp.hpp"

#include <sys/stat.h>

#include <charconv>

namespace mien::store {
namespace {

namespace fs = std::filesystem;

// FNV-1a, 64 bits (RFC 9923's offset basis and prime, from memory): names a lock file, and protects nothing.
std::string short_name(const std::string& path) {
  std::uint64_t hash = 0xCBF29CE484222325;
  for (const char c : path) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001B3;
  char text[16];
  const auto end = std::to_chars(text, text + sizeof text, hash, 16).ptr;
  return {text, end};
}

}  // namespace

Stamp stamp_of(const fs::path& file) {
  struct stat info {};
  if (::stat(file.c_str(), &info) != 0) return {};
  return {true, info.st_dev, info.st_ino, static_cast<std::uint64_t>(info.st_size), info.st_mtim.tv_sec * 1'000'000'000ll + info.st_mtim.tv_nsec};
}

std::optional<show::Finding> changed_since(const fs::path& file, const Stamp& known) {
  const Stamp now = stamp_of(file);
  if (!now.there || now == known) return std::nullopt;
  return show::Finding{show::Severity::error, file.string(), "", "was changed by another program in the meantime, and is left as that program wrote it",
                       "Look at what is there now, then do it again, or write to another file."};
}

OpenShow OpenShow::take(const fs::path& state, const fs::path& show) {
  OpenShow open;
  if (state.empty() || show.empty()) return open;
  std::error_code problem;
  const fs::path folder = state / "open", whole = fs::weakly_canonical(show, problem);
  fs::create_directories(folder, problem);
  open.lock_ = folder / (short_name((whole.empty() ? show : whole).string()) + ".lock");
  open.claim_ = Claim::take(open.lock_, true);
  if (!open.claim_.held() && !fs::exists(open.lock_, problem)) open.lock_.clear();  // nothing can be written there: nobody can be told
  return open;
}

OpenShow::~OpenShow() {
  std::error_code ignored;
  if (claim_.held()) fs::remove(lock_, ignored);
}

OpenShow& OpenShow::operator=(OpenShow&& other) noexcept {
  std::swap(lock_, other.lock_);
  std::swap(claim_, other.claim_);
  return *this;
}

}  // namespace mien::store
