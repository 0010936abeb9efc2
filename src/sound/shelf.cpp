#include "sound/shelf.hpp"

#include <algorithm>
#include <utility>

namespace mien::sound {

Shelf::Shelf() {
  put(Mix{});
  worker_ = std::jthread([this](const std::stop_token& stop) { work(stop); });
}

void Shelf::set(std::vector<Placed> sounds, std::chrono::milliseconds patience) {
  std::unique_lock lock(mutex_);
  request_ = std::move(sounds);
  const std::uint64_t mine = ++asked_;
  changed_.notify_all();
  changed_.wait_for(lock, patience, [&] { return answered_ >= mine; });
}

void Shelf::work(const std::stop_token& stop) {
  std::unique_lock lock(mutex_);
  while (changed_.wait(lock, stop, [&] { return request_.has_value(); })) {
    const std::vector<Placed> sounds = std::move(*std::exchange(request_, std::nullopt));
    const std::uint64_t answering = asked_;
    lock.unlock();
    Mix mix(converted(sounds, stop));
    lock.lock();
    if (request_ || stop.stop_requested()) continue;  // a newer wish came meanwhile: what is converted is kept for it
    lock.unlock();
    put(std::move(mix));
    lock.lock();
    answered_ = answering;
    changed_.notify_all();
  }
}

std::vector<Placed> Shelf::converted(std::vector<Placed> sounds, const std::stop_token& stop) {
  std::map<const Wave*, Converted> kept;
  for (Placed& sound : sounds) {
    if (!sound.wave || sound.wave->rate_hz == kRate_hz) continue;
    const WavePtr original = sound.wave;
    auto known = kept.find(original.get());
    if (known == kept.end()) {
      Converted entry{original, nullptr};
      const auto before = conversions_.find(original.get());
      if (before != conversions_.end() && before->second.from.lock() == original) entry.to = before->second.to;
      else entry.to = at_playing_rate(original, [&] { return !stop.stop_requested() && wanted(original); });
      known = kept.emplace(original.get(), std::move(entry)).first;
    }
    sound.wave = known->second.to;
  }
  std::erase_if(kept, [](const auto& entry) { return !entry.second.to; });
  conversions_ = std::move(kept);
  return sounds;
}

bool Shelf::wanted(const WavePtr& wave) {
  const std::lock_guard lock(mutex_);
  return !request_ || std::any_of(request_->begin(), request_->end(), [&](const Placed& sound) { return sound.wave == wave; });
}

void Shelf::put(Mix mix) {
  const std::lock_guard lock(mutex_);
  const std::uint64_t serial = mixes_.empty() ? 1 : mixes_.back()->serial + 1;
  mixes_.push_back(std::make_unique<const ShelvedMix>(ShelvedMix{serial, std::move(mix)}));
  newest_.store(mixes_.back().get(), std::memory_order_release);
}

void Shelf::sweep() {
  std::vector<std::unique_ptr<const ShelvedMix>> done;  // freed after the lock: giving back a long sound takes a while
  const std::lock_guard lock(mutex_);
  const auto needed = std::find_if(mixes_.begin(), mixes_.end() - 1, [&](const auto& mix) { return mix->serial >= oldest_needed_.load(std::memory_order_acquire); });
  std::move(mixes_.begin(), needed, std::back_inserter(done));
  mixes_.erase(mixes_.begin(), needed);
}

}  // namespace mien::sound
