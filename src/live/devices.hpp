// MIDI devices that come and go, remembered by name, each with a number that its touches carry.
#pragma once
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "live/touch.hpp"

namespace mien::live {

/// What hears one device: parses its bytes where they arrive and puts touches into the inlet.
class MidiEar {
 public:
  MidiEar(Inlet& inlet, int device) noexcept : inlet_(inlet), device_(static_cast<std::uint8_t>(device)) {}
  /// From one thread at a time, any portions; never waits, never allocates. `at_ns`: threads::steady_ns() at their arrival.
  void hear(const std::uint8_t* bytes, std::size_t count, std::int64_t at_ns) noexcept;
  std::uint64_t messages() const noexcept { return messages_.load(std::memory_order_relaxed); }

 private:
  Inlet& inlet_;
  const std::uint8_t device_;
  MidiParser parser_;
  std::atomic<std::uint64_t> messages_{0};
};

/// An open port; closing it is destroying it, after which its ear hears nothing more.
class MidiConnection {
 public:
  virtual ~MidiConnection() = default;
};

/// One of a machine's MIDI systems; tests have their own.
class MidiSystem {
 public:
  virtual ~MidiSystem() = default;
  virtual std::string name() const = 0;
  /// The ports that can be heard now, by the system's own names; none where the system doesn't run.
  virtual std::vector<std::string> ports() = 0;
  /// Null where the port is gone or refuses. The ear outlives the connection.
  virtual std::unique_ptr<MidiConnection> open(const std::string& port, MidiEar& ear) = 0;
};

/// ALSA and JACK, through RtMidi; each where it is there. It is asked anew at each call of ports(), so that a server may start and end at any time.
std::vector<std::unique_ptr<MidiSystem>> midi_systems();

/// A port's name without what changes from one plugging in to the next: ALSA's client and port numbers at its end.
std::string remembered_name(const std::string& port);

/// All devices that were seen since the program began. Every call is for one thread, which is not the performing one.
class Devices {
 public:
  struct Device {
    std::string name;    ///< as remembered; a second one of a name ends in " (2)"
    std::string system;  ///< "ALSA", "JACK"; empty for one that was never there
    bool there = false;
    std::uint64_t messages = 0;
  };

  /// The inlet outlives this. At most kMostDevices are known; further ones are not heard.
  explicit Devices(Inlet& inlet, std::vector<std::unique_ptr<MidiSystem>> systems = midi_systems());
  ~Devices();
  Devices(const Devices&) = delete;
  Devices& operator=(const Devices&) = delete;

  /// Only ports whose remembered name contains this are opened; empty: all.
  void only(std::string part);
  /// Opens what was plugged in, lets go what was unplugged. Call it once or twice a second. True where a device is new, so that maps have to be compiled again.
  bool poll();
  /// The number of a device by this name, made known now if it was not; -1 where there is no room. For sources beyond MIDI, too: a gamepad, a script.
  int number_of(const std::string& name);

  std::vector<Device> seen() const;
  std::vector<std::string> names() const;  ///< by number

 private:
  struct Known;
  Inlet& inlet_;
  std::vector<std::unique_ptr<MidiSystem>> systems_;
  std::vector<std::unique_ptr<Known>> known_;
  std::string only_;
};

}  // namespace mien::live
