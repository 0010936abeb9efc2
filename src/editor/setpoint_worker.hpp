// Computes, off the window's thread, what the limiter makes of the show that is on screen; the newest request wins.
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
  /// The newest finished result; nullptr before the first.
  std::shared_ptr<const Setpoints> latest() const;

 private:
  void work(std::stop_token stop);
  mutable std::mutex mutex_;
  std::condition_variable_any wake_;
  std::shared_ptr<const show::Rig> rig_;
  show::ShowPtr wanted_;
  std::shared_ptr<const Setpoints> done_;
  std::jthread thread_;
};

}  // namespace mien::editor
