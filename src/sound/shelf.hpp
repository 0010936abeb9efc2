// The mixes in the making, in use and done with.
#pragma once
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>
#include <vector>

#include "sound/mix.hpp"

namespace mien::sound {

/// A mix and its place in the order in which mixes were made.
struct ShelvedMix {
  std::uint64_t serial = 0;
  Mix mix;
};

/// Builds mixes on a thread of its own, as converting a long sound to the playing rate takes seconds; hands the newest one to
/// the audio callback by an atomic pointer; and frees old ones, never on the callback's thread.
class Shelf {
 public:
  Shelf();

  /// Makes these sounds the newest mix as soon as they are ready. Waits for that no longer than `patience`.
  void set(std::vector<Placed> sounds, std::chrono::milliseconds patience);
  /// Frees what the callback has said that it no longer needs.
  void sweep();

  // The audio callback:
  const ShelvedMix* newest() const noexcept { return newest_.load(std::memory_order_acquire); }
  /// Mixes before this one will never be looked at again.
  void needs_from(std::uint64_t serial) noexcept { oldest_needed_.store(serial, std::memory_order_release); }

 private:
  void work(const std::stop_token& stop);
  std::vector<Placed> converted(std::vector<Placed> sounds, const std::stop_token& stop);
  bool wanted(const WavePtr& wave);
  void put(Mix mix);

  std::mutex mutex_;
  std::condition_variable_any changed_;
  std::optional<std::vector<Placed>> request_;
  std::uint64_t asked_ = 0, answered_ = 0;
  std::vector<std::unique_ptr<const ShelvedMix>> mixes_;  // the last one is the newest

  struct Converted {
    std::weak_ptr<const Wave> from;  // tells a wave from a later one at the same address
    WavePtr to;
  };
  std::map<const Wave*, Converted> conversions_;  // the worker's own

  std::atomic<const ShelvedMix*> newest_{nullptr};
  std::atomic<std::uint64_t> oldest_needed_{0};
  std::jthread worker_;  // last, so that it ends first
};

}  // namespace mien::sound
