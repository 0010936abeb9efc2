// Performs, off the window's thread, the show that is on screen: what the limiter makes of it, and where the head can't follow. The newest
// request wins; one under way is given up.
#pragma once
#include <condition_variable>
#include <memory>
#include <mutex>
#include <thread>

#include "editor/scene.hpp"

namespace mien::editor {

class SetpointWorker {
 public:
  SetpointWorker();
  ~SetpointWorker();
  void request(std::shared_ptr<const show::Rig> rig, show::ShowPtr show);
  /// The newest finished results, setpoints a moment before the study; nullptr before the first.
  std::shared_ptr<const Setpoints> setpoints() const;
  std::shared_ptr<const Feasibility> feasibility() const;

 private:
  void work(std::stop_token stop);
  mutable std::mutex mutex_;
  std::condition_variable_any wake_;
  std::shared_ptr<const show::Rig> rig_;
  show::ShowPtr wanted_;
  std::shared_ptr<const Setpoints> setpoints_;
  std::shared_ptr<const Feasibility> feasibility_;
  std::jthread thread_;
};

}  // namespace mien::editor
