// What the fuzzers of files share: texts and places for them.
#pragma once
#include <unistd.h>

#include <cstdint>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "fuzz/script.hpp"
#include "store/store.hpp"

namespace mien::fuzz {

inline std::string content_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  demand(bool(in), file.c_str());
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

inline show::Rig sample_rig(const char* file) {
  const auto loaded = store::load_rig(std::filesystem::path(MIEN_SOURCE_DIR) / file);
  demand(bool(loaded), file);
  return *loaded->rig;
}

/// A file in memory with these bytes; one for each process, written anew each time.
inline std::filesystem::path file_with(const std::uint8_t* data, std::size_t size, const char* kind) {
  static const std::filesystem::path path = std::filesystem::path("/dev/shm") / ("mien-fuzz-" + std::to_string(::getpid()) + kind);
  std::ofstream(path, std::ios::binary | std::ios::trunc).write(reinterpret_cast<const char*>(data), static_cast<std::streamsize>(size));
  static const struct Remover {
    ~Remover() { std::filesystem::remove(path); }
  } remover;
  return path;
}

/// Findings name the place and the cure: none is empty-handed.
inline void demand_words(const show::Finding& finding) {
  demand(!finding.what.empty(), "a finding says what is wrong");
  demand(finding.severity == show::Severity::note || !finding.cure.empty(), "a finding says what to do");
}
inline void demand_words(const show::Findings& findings) {
  for (const auto& finding : findings) demand_words(finding);
}

}  // namespace mien::fuzz
