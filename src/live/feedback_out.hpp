// Devices that are told where their knobs' controls stand: finds the output of each by its name, and tells it what live/feedback.hpp has to say, from a thread of its own.
#pragma once
#include <array>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "live/feedback.hpp"
#include "live/midi_output.hpp"

namespace mien::live {

/// Which of the ports leads to the device of that name: the one of the same name, or else the first of the same client ("Slider:in" for "Slider:out"); -1: none.
int output_of(const std::string& device, const std::vector<std::string>& ports);

class FeedbackOut {
 public:
  explicit FeedbackOut(std::vector<std::unique_ptr<MidiOutSystem>> systems = midi_out_systems());
  ~FeedbackOut();
  FeedbackOut(const FeedbackOut&) = delete;
  FeedbackOut& operator=(const FeedbackOut&) = delete;

  /// What is told from now on; `devices` are numbered as in the program. Null: nothing.
  void set(HandProgramPtr program, std::vector<std::string> devices);
  /// How things are, as often as they are known: control values, cues that play, poses and clips that keys hold, the bank, and the newest two touches of `heard` in all. Waits for nobody but a moment.
  void now(std::span<const double> control, std::span<const char> running, std::span<const char> lit, int bank, std::uint64_t heard, const Touch& last, const Touch& before);

 private:
  struct Core;
  std::unique_ptr<Core> core_;
};

}  // namespace mien::live
