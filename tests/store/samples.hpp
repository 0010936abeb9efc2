// The sample files and the shows that come with the program, and a file's text with something wrong put in.
#pragma once
#include <gtest/gtest.h>

#include <filesystem>
#include <string>

namespace mien::store {

inline const std::filesystem::path kSamples = std::filesystem::path(MIEN_SOURCE_DIR) / "tests" / "samples";
inline const std::filesystem::path kShows = std::filesystem::path(MIEN_SOURCE_DIR) / "shows";

/// The text with the first `from`, which has to be there, replaced.
inline std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << "the sample has no " << from;
  return at == std::string::npos ? text : text.replace(at, from.size(), to);
}

}  // namespace mien::store
