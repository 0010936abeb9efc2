// The one place that names cubeb: a stream to the default output device.
#pragma once
#include <atomic>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "show/finding.hpp"

struct cubeb;
struct cubeb_stream;

namespace mien::sound {

class Renderer;

class Output {
 public:
  /// Opens and starts a stereo stream at kRate_hz that pulls from `renderer`, which must outlive it. May take as long as the
  /// sound server likes, so never call it where anyone waits.
  static show::Result<std::unique_ptr<Output>> open(Renderer& renderer);
  ~Output();
  Output(const Output&) = delete;
  Output& operator=(const Output&) = delete;

  /// The device or its server went away; nothing more will be pulled.
  bool failed() const noexcept { return failed_.load(std::memory_order_relaxed); }

  struct Position {
    std::int64_t steady_ns = 0, heard_ns = 0;
  };
  /// What is heard now, since the stream began. Nothing when the device does not say, or when asking took so long that the
  /// answer belongs to no moment.
  std::optional<Position> position();

 private:
  explicit Output(Renderer& renderer) : renderer_(renderer) {}

  Renderer& renderer_;
  cubeb* context_ = nullptr;
  cubeb_stream* stream_ = nullptr;
  bool position_is_written_ = false;  // the backend counts frames given, not frames heard
  std::atomic<bool> failed_{false};

  struct Callbacks;
  friend struct Callbacks;
};

/// Names of the output devices, the default one marked; empty where there is none. Waits as long as the server does.
std::vector<std::string> list_output_devices();

}  // namespace mien::sound
