// A long computation on a thread of its own, one at a time, with how far it is and a way to give it up.
#pragma once
#include <atomic>
#include <functional>
#include <optional>
#include <thread>
#include <utility>

namespace mien::editor {

/// Told the share that is done, 0..1; false: give up.
using GoOn = std::function<bool(double share)>;

/// `Done` is what a computation makes. All but the computation itself belongs to one thread, the window's.
template <class Done>
class Job {
 public:
  Job() = default;
  ~Job() { stop(); }
  /// Nothing happens while one works. What `work` holds is its own copy.
  void start(std::function<Done(const GoOn&)> work) {
    if (running_) return;
    running_ = true, stop_ = false, ready_ = false, share_ = 0;
    thread_ = std::jthread([this, work = std::move(work)] {
      done_ = work([this](double share) {
        share_ = share;
        return !stop_;
      });
      ready_ = true;
    });
  }
  /// Asks the one that works to give up; what take() returns then tells so.
  void stop() noexcept { stop_ = true; }
  bool running() const noexcept { return running_; }
  double share() const noexcept { return share_; }
  /// What the last one made, once.
  std::optional<Done> take() {
    if (!ready_) return {};
    thread_.join();
    ready_ = false, running_ = false;
    return std::move(done_);
  }

 private:
  std::atomic<bool> stop_ = false, ready_ = false;
  std::atomic<double> share_ = 0;
  bool running_ = false;  // from start() to take()
  Done done_;             // the job's until ready_, then the window's
  std::jthread thread_;
};

}  // namespace mien::editor
