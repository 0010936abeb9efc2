// A machine that listens to time code, for tests: a MIDI system with outputs that come and go, and all that they were sent.
#pragma once
#include <algorithm>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "live/midi.hpp"
#include "live/midi_output.hpp"

namespace mien::live {

class TapeMachine {
 public:
  /// For a sender; any number of times. The machine outlives it.
  MidiOutSystems systems() {
    MidiOutSystems all;
    all.push_back(std::make_unique<System>(*this));
    return all;
  }
  void plug(const std::string& port) {
    const std::lock_guard lock(mutex_);
    if (std::find(ports_.begin(), ports_.end(), port) == ports_.end()) ports_.push_back(port);
    refuses_ = false;
  }
  /// Every output; `told`: what was open refuses from now on, else it swallows.
  void unplug(bool told) {
    const std::lock_guard lock(mutex_);
    ports_.clear();
    refuses_ = told;
  }
  void forget() {
    const std::lock_guard lock(mutex_);
    bytes_.clear(), messages_.clear(), parser_ = {};
  }
  std::vector<std::uint8_t> bytes() const {
    const std::lock_guard lock(mutex_);
    return bytes_;
  }
  std::vector<MidiMessage> messages() const {
    const std::lock_guard lock(mutex_);
    return messages_;
  }
  std::size_t count(MidiMessage::Kind kind) const {
    const std::lock_guard lock(mutex_);
    return static_cast<std::size_t>(std::count_if(messages_.begin(), messages_.end(), [&](const MidiMessage& m) { return m.kind == kind; }));
  }

 private:
  struct Output final : MidiOutput {
    Output(TapeMachine& m, std::string p) : machine(m), port(std::move(p)) {}
    bool send(const std::uint8_t* bytes, int count) override { return machine.hear(port, bytes, count); }
    TapeMachine& machine;
    std::string port;
  };
  struct System final : MidiOutSystem {
    explicit System(TapeMachine& m) : machine(m) {}
    std::vector<std::string> ports() override {
      const std::lock_guard lock(machine.mutex_);
      return machine.ports_;
    }
    std::unique_ptr<MidiOutput> open(const std::string& port) override { return std::make_unique<Output>(machine, port); }
    TapeMachine& machine;
  };
  bool hear(const std::string& port, const std::uint8_t* bytes, int count) {
    const std::lock_guard lock(mutex_);
    if (refuses_) return false;
    if (std::find(ports_.begin(), ports_.end(), port) == ports_.end()) return true;
    for (int n = 0; n < count; ++n) {
      bytes_.push_back(bytes[n]);
      if (const auto m = parser_.feed(bytes[n])) messages_.push_back(*m);
    }
    return true;
  }

  mutable std::mutex mutex_;
  std::vector<std::string> ports_{"Tape Machine 24:0"};
  std::vector<std::uint8_t> bytes_;
  std::vector<MidiMessage> messages_;
  MidiParser parser_;
  bool refuses_ = false;
};

}  // namespace mien::live
