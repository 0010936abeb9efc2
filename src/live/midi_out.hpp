// Time code to other machines: a thread that sends what live/mtc_out says, on time.
#pragma once
#include <memory>
#include <string>

#include "live/mtc_out.hpp"
#include "show/finding.hpp"

namespace mien::live {

/// Where bytes of MIDI go; tests have their own.
class MidiSink {
 public:
  virtual ~MidiSink() = default;
  /// A whole message; from one thread.
  virtual void send(const std::uint8_t* bytes, std::size_t count) noexcept = 0;
};

/// The first output of this machine whose name contains `part`, by RtMidi. The finding names those that there are.
show::Result<std::unique_ptr<MidiSink>> midi_output(const std::string& part);

/// Sends the time code of a show from its construction on; when it goes away a show that plays simply falls silent, and those that follow freewheel and stand.
class MtcSender {
 public:
  MtcSender(std::unique_ptr<MidiSink> sink, const MtcOut& code);
  ~MtcSender();
  MtcSender(const MtcSender&) = delete;
  MtcSender& operator=(const MtcSender&) = delete;

  /// Where the show is now; from one thread, as often as it is known.
  void follow(const ShowLine& line) noexcept;

 private:
  struct Core;
  std::unique_ptr<Core> core_;
};

}  // namespace mien::live
