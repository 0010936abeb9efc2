// File systems of a test's own: a process that may mount, because it is the superuser's or, in a user namespace, its own superuser. Nothing of it is seen outside.
#pragma once
#include <fcntl.h>
#include <sched.h>
#include <sys/mount.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <functional>
#include <string>

namespace mien::support {

struct Told {
  bool could = false;  ///< false: no mounting here, and `text` says why
  std::string text;    ///< what the process said
};

inline bool put(const char* file, const std::string& text) {
  const int to = ::open(file, O_WRONLY | O_CLOEXEC);
  const bool fine = to >= 0 && ::write(to, text.data(), text.size()) == static_cast<ssize_t>(text.size());
  if (to >= 0) ::close(to);
  return fine;
}

/// Mount points of its own for this process; the error's words where there can be none.
inline std::string own_mounts() {
  const uid_t user = ::geteuid();
  const gid_t group = ::getegid();
  if (::unshare(CLONE_NEWNS) != 0) {
    if (::unshare(CLONE_NEWUSER | CLONE_NEWNS) != 0) return std::string("unshare: ") + std::strerror(errno);
    put("/proc/self/setgroups", "deny");
    if (!put("/proc/self/uid_map", "0 " + std::to_string(user) + " 1") || !put("/proc/self/gid_map", "0 " + std::to_string(group) + " 1")) return std::string("uid_map: ") + std::strerror(errno);
  }
  if (::mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) != 0) return std::string("mount: ") + std::strerror(errno);
  return "";
}

/// What `work` returns, run in a child; with mounts of its own where it is to have them.
inline Told in_a_child(const std::function<std::string()>& work, bool mounts) {
  int ends[2];
  if (::pipe(ends) != 0) return {false, "no pipe"};
  const pid_t child = ::fork();
  if (child == 0) {
    ::close(ends[0]);
    const std::string why = mounts ? own_mounts() : "", text = why.empty() ? "+" + work() : "-" + why;
    for (std::size_t at = 0; at < text.size();) {
      const ssize_t wrote = ::write(ends[1], text.data() + at, text.size() - at);
      if (wrote <= 0) ::_exit(1);
      at += static_cast<std::size_t>(wrote);
    }
    ::_exit(0);
  }
  ::close(ends[1]);
  std::string text;
  char some[4096];
  for (ssize_t got; (got = ::read(ends[0], some, sizeof some)) > 0;) text.append(some, static_cast<std::size_t>(got));
  ::close(ends[0]);
  int status = 0;
  ::waitpid(child, &status, 0);
  if (text.empty() || !WIFEXITED(status)) return {true, "the process died\n"};
  return {text[0] == '+', text.substr(1)};
}

}  // namespace mien::support
