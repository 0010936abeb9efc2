#include "sound/output.hpp"

#include <cubeb/cubeb.h>

#include <algorithm>
#include <mutex>

#include "sound/frames.hpp"
#include "sound/renderer.hpp"
#include "threads/steady.hpp"

namespace mien::sound {
namespace {

constexpr std::uint32_t kLeastLatency_frames = 960;  // 20 ms: less makes dropouts on a busy two-core machine
constexpr std::int64_t kSlowAnswer_ns = 1'000'000;

/// Held while a context is made, used for listing, or given back: two threads that do so at once hang, and sometimes crash.
std::mutex one_at_a_time;

show::Finding no_device(std::string what) {
  return {show::Severity::warning, "", "sound", std::move(what),
          "The show plays silently on the steady clock; connect or enable a sound device, then press play again"};
}

}  // namespace

struct Output::Callbacks {
  static long data(cubeb_stream*, void* self, const void*, void* out, long frames) {
    static_cast<Output*>(self)->renderer_.render(static_cast<float*>(out), frames);
    return frames;
  }
  static void state(cubeb_stream*, void* self, cubeb_state state) {
    if (state == CUBEB_STATE_ERROR) static_cast<Output*>(self)->failed_.store(true, std::memory_order_relaxed);
  }
};

show::Result<std::unique_ptr<Output>> Output::open(Renderer& renderer) {
  std::unique_ptr<Output> output(new Output(renderer));  // before the lock, which its destructor takes too
  const std::lock_guard lock(one_at_a_time);
  if (cubeb_init(&output->context_, "Mien", nullptr) != CUBEB_OK) {
    output->context_ = nullptr;
    return no_device("no sound system answers on this machine");
  }
  const std::string backend = cubeb_get_backend_id(output->context_);
  output->position_is_written_ = backend == "jack";
  cubeb_stream_params params{CUBEB_SAMPLE_FLOAT32NE, kRate_hz, 2, CUBEB_LAYOUT_STEREO, CUBEB_STREAM_PREF_NONE};
  std::uint32_t latency = 0;
  if (cubeb_get_min_latency(output->context_, &params, &latency) != CUBEB_OK) latency = 0;
  latency = std::clamp(latency, kLeastLatency_frames, std::uint32_t{kRate_hz / 10});
  if (cubeb_stream_init(output->context_, &output->stream_, "Show", nullptr, nullptr, nullptr, &params, latency, &Callbacks::data,
                        &Callbacks::state, output.get()) != CUBEB_OK) {
    output->stream_ = nullptr;
    return no_device("no sound device could be opened (through " + backend + ")");
  }
  if (cubeb_stream_start(output->stream_) != CUBEB_OK) return no_device("the sound device does not start (through " + backend + ")");
  return output;
}

Output::~Output() {
  const std::lock_guard lock(one_at_a_time);
  if (stream_) {
    cubeb_stream_stop(stream_);
    cubeb_stream_destroy(stream_);
  }
  if (context_) cubeb_destroy(context_);
}

std::optional<Output::Position> Output::position() {
  const std::int64_t before = threads::steady_ns();
  std::uint64_t frames = 0;
  if (cubeb_stream_get_position(stream_, &frames) != CUBEB_OK) return std::nullopt;
  const std::int64_t after = threads::steady_ns();
  constexpr std::uint64_t kAbsurd = std::uint64_t{1} << 46;  // frames; 46 years
  if (after - before > kSlowAnswer_ns || frames > kAbsurd) return std::nullopt;
  auto heard = static_cast<std::int64_t>(frames);
  std::uint32_t latency = 0;
  if (position_is_written_ && cubeb_stream_get_latency(stream_, &latency) == CUBEB_OK) heard = std::max<std::int64_t>(0, heard - latency);
  return Position{before + (after - before) / 2, frames_to_ns(heard)};
}

std::vector<std::string> list_output_devices() {
  const std::lock_guard lock(one_at_a_time);
  std::vector<std::string> names;
  cubeb* context = nullptr;
  if (cubeb_init(&context, "Mien", nullptr) != CUBEB_OK) return names;
  cubeb_device_collection devices{};
  if (cubeb_enumerate_devices(context, CUBEB_DEVICE_TYPE_OUTPUT, &devices) == CUBEB_OK) {
    for (std::size_t i = 0; i < devices.count; ++i) {
      const cubeb_device_info& device = devices.device[i];
      const char* const name = device.friendly_name ? device.friendly_name : device.device_id;
      if (!name || device.state != CUBEB_DEVICE_STATE_ENABLED) continue;
      names.push_back(std::string(name) + (device.preferred != CUBEB_DEVICE_PREF_NONE ? " (default)" : ""));
    }
    cubeb_device_collection_destroy(context, &devices);
  }
  cubeb_destroy(context);
  return names;
}

}  // namespace mien::sound
