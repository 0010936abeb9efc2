// Time code to other machines: a thread that sends what live/mtc_out says, on time.
#pragma once
#include <memory>

#include "live/midi_output.hpp"
#include "live/mtc_out.hpp"

namespace mien::live {

/// Sends the time code of a show from its construction on; when it goes away a show that plays simply falls silent, and those that follow freewheel and stand.
class MtcSender {
 public:
  MtcSender(std::unique_ptr<MidiOutput> sink, const MtcOut& code);
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
