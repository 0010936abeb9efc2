// One line for each command applied and each change of state, for people who ask what happened and for tests that hold it.
#pragma once
#include <cstdio>
#include <filesystem>
#include <memory>
#include <string>

namespace mien::editor {

class Journal {
 public:
  Journal() = default;
  /// Appends to the file, line by line, complete at all times. A file that can't be opened gives a journal that drops its lines.
  explicit Journal(const std::filesystem::path& file) : file_(std::fopen(file.c_str(), "ae")) {}
  bool open() const noexcept { return file_ != nullptr; }
  void line(const std::string& text) {
    last_ = text;
    if (!file_) return;
    std::fprintf(file_.get(), "%s\n", text.c_str());
    std::fflush(file_.get());
  }
  const std::string& last() const noexcept { return last_; }

 private:
  struct Close { void operator()(std::FILE* f) const noexcept { std::fclose(f); } };
  std::unique_ptr<std::FILE, Close> file_;
  std::string last_;
};

}  // namespace mien::editor
