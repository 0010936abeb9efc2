// Bakes a layer down on a thread of its own, one at a time.
#pragma once
#include <atomic>
#include <memory>
#include <optional>
#include <string>
#include <thread>

#include "perform/bake_layers.hpp"

namespace mien::editor {

class BakeJob {
 public:
  struct Done {
    show::ShowPtr from;  ///< what it was given
    std::string layer;
    perform::BakedDown baked;
  };

  ~BakeJob() { stop(); }
  /// Nothing happens while one works.
  void start(std::shared_ptr<const show::Rig> rig, show::ShowPtr show, std::string layer);
  /// Asks the one that works to give up; take() then tells so.
  void stop() noexcept { stop_ = true; }
  bool running() const noexcept { return running_; }
  double share() const noexcept { return share_; }
  /// What the last one made, once.
  std::optional<Done> take();

 private:
  std::atomic<bool> stop_ = false, ready_ = false;
  std::atomic<double> share_ = 0;
  bool running_ = false;  // the window's thread alone: from start() to take()
  Done done_;             // the job's until ready_, then the window's
  std::jthread thread_;
};

}  // namespace mien::editor
