// The program's own processor time, all threads together, until its first frame is on screen.
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>

#include "bench/window/measure.hpp"
#include "support/folder.hpp"

extern char** environ;

namespace mien::tests {
namespace {

// Negative where the program ended by itself.
double once(const std::string& program, const std::string& show, const std::filesystem::path& journal) {
  // Beside the journal the program writes, after each frame that is on screen, where everything stands.
  const std::string places = journal.string() + ".places";
  std::filesystem::remove(places);
  std::vector<std::string> words{program, "edit", show, "--mute", "--width", std::to_string(kWidth), "--height", std::to_string(kHeight), "--journal", journal.string()};
  std::vector<char*> pointers;
  for (auto& w : words) pointers.push_back(w.data());
  pointers.push_back(nullptr);
  pid_t child = 0;
  clockid_t clock{};
  if (posix_spawn(&child, program.c_str(), nullptr, nullptr, pointers.data(), environ) != 0 || clock_getcpuclockid(child, &clock) != 0) return -1;
  double spent = -1;
  int status = 0;
  while (spent < 0 && waitpid(child, &status, WNOHANG) == 0) {
    if (access(places.c_str(), F_OK) == 0) spent = now_ms(clock);
    else usleep(500);
  }
  if (spent >= 0) {
    kill(child, SIGTERM);
    waitpid(child, &status, 0);
  }
  return spent;
}

}  // namespace

int start(const std::string& program, const std::string& show, int times) {
  support::Folder folder;
  setenv("XDG_CONFIG_HOME", (folder / "config").c_str(), 1);
  setenv("XDG_STATE_HOME", (folder / "state").c_str(), 1);
  std::vector<double> all;
  for (int i = 0; i < times; ++i) {
    all.push_back(once(program, show, folder / "journal"));
    if (all.back() < 0) {
      std::fprintf(stderr, "start: %s ended before it showed anything\n", program.c_str());
      return 2;
    }
  }
  std::sort(all.begin(), all.end());
  std::fprintf(stderr, "start: %.0f to %.0f ms of processor time in %d starts\n", all.front(), all.back(), times);
  figure("start_cpu_ms", median(all));
  return 0;
}

}  // namespace mien::tests
