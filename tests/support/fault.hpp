// A fault that a test makes: how often it was made and what was lost by it, for the table of tests/faults.sh. The test's own failures count as losses, so that no
// row can say "nothing" of a test that failed.
#pragma once
#include <gtest/gtest.h>

#include <cstdio>
#include <cstdlib>
#include <string>

namespace mien::support {

class Fault {
 public:
  /// `name`: what is broken; `held`: what must come through it. Rows of one name are added up.
  Fault(std::string name, std::string held) : name_(std::move(name)), held_(std::move(held)) {}
  Fault(const Fault&) = delete;
  Fault& operator=(const Fault&) = delete;

  void made(long times = 1) noexcept { made_ += times; }
  long times() const noexcept { return made_; }
  void lost(const std::string& what) {
    ++lost_;
    ADD_FAILURE() << name_ << ": " << what;
  }
  /// For what can't be made on this machine; no row then, and the table says why.
  void not_here(const std::string& why) { why_not_ = why; }

  ~Fault() {
    if (made_ == 0 && why_not_.empty()) ADD_FAILURE() << name_ << " was never made";
    if (::testing::Test::HasFailure() && lost_ == 0) lost_ = 1;
    std::printf("fault: %s: made %ld times, lost %ld%s%s\n", name_.c_str(), made_, lost_, why_not_.empty() ? "" : "; not made here: ", why_not_.c_str());
    const char* table = std::getenv("MIEN_FAULTS");
    if (!table) return;
    if (std::FILE* file = std::fopen(table, "a")) {
      std::fprintf(file, "%s\t%ld\t%ld\t%s\t%s\n", name_.c_str(), made_, lost_, held_.c_str(), why_not_.c_str());
      std::fclose(file);
    }
  }

 private:
  std::string name_, held_, why_not_;
  long made_ = 0, lost_ = 0;
};

}  // namespace mien::support
