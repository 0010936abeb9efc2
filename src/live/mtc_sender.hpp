// Time code to other machines: a thread that sends what live/mtc_out says, on time, to an output that may go away and come back.
#pragma once
#include <cstdint>
#include <memory>
#include <string>

#include "live/midi_output.hpp"
#include "live/mtc_out.hpp"

namespace mien::live {

/// What is to be sent, and where to.
struct SendCode {
  std::string output;           ///< as midi_output() has it; empty: nothing is sent
  TimeCodeRate rate = TimeCodeRate::fps_25;
  show::Time zero{0};           ///< the time code at which the show begins
  friend bool operator==(const SendCode&, const SendCode&) = default;
};

struct CodeSent {
  bool on = false;              ///< something is to be sent
  bool there = false;           ///< its output is; while it is gone it is looked for twice a second
  std::string port;             ///< the output's whole name, the newest that was open
  std::uint64_t messages = 0, times_gone = 0;
};
/// "time code goes to Recorder:in", "Recorder:in is gone: time code goes on when it is back"; empty where nothing is sent.
std::string to_text(const CodeSent& sent);

/// Sends the time code of a show from its construction on; when it goes away a show that plays simply falls silent, and those that follow freewheel and stand. What falls due while
/// the output is gone is left out; an output that came back is told by a full frame where the show is.
class MtcSender {
 public:
  /// What is wrong where the output isn't there now.
  static show::Result<std::unique_ptr<MtcSender>> open(const SendCode& what, MidiOutSystems systems = midi_out_systems());
  ~MtcSender();
  MtcSender(const MtcSender&) = delete;
  MtcSender& operator=(const MtcSender&) = delete;

  /// Where the show is now; from one thread, as often as it is known.
  void follow(const ShowLine& line) noexcept;
  /// From any thread.
  CodeSent status() const;

 private:
  struct Core;
  explicit MtcSender(std::unique_ptr<Core> core);
  std::unique_ptr<Core> core_;
};

}  // namespace mien::live
