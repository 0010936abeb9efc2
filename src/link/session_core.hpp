// The link's thread: it keeps the port open, follows the person's orders and the boards' state, and carries frames.
#pragma once
#include <atomic>
#include <mutex>
#include <thread>

#include "link/armed_slot.hpp"
#include "link/conversation.hpp"
#include "link/port.hpp"
#include "link/session.hpp"
#include "link/wake.hpp"

namespace mien::link {

/// What was asked for and the thread has not taken up yet.
struct Orders {
  std::optional<std::string> port;  ///< empty text: close
  std::optional<show::Rig> rig;
  std::vector<Goal> goals;  ///< in the order of the calls
  bool adopt = false;
  std::uint32_t rig_number = 0;  ///< of `rig`
};

struct Session::Core {
  Core(const show::Rig& rig, Options options);
  ~Core();

  /// From any thread: changes the orders under the lock and wakes the thread.
  template <class Change>
  void order(Change change) {
    {
      const std::lock_guard lock(mutex_);
      change(orders_, told_);
    }
    wake_.ring();
  }
  void order_rig(const show::Rig& rig);
  bool push(const Frame& frame) noexcept;
  Armed armed() const noexcept { return slot_.read(); }
  Status status() const;

 private:
  void run();
  void take_orders();
  void take_port(const std::string& text);
  void take_rig(const show::Rig& newer, std::uint32_t number);
  void want(Goal goal);
  void open_port();
  void read();
  void follow();
  void fall();
  void lose(show::Finding why);  // by value: the port that says why goes with it
  void stay_disarmed(const char* why);
  void change_rig();
  void disarm_slot();
  void take_frames();
  void write();
  void close_port();
  void publish();
  State state() const;
  std::optional<show::Finding> trouble() const;
  std::int64_t due_ns() const;
  std::int64_t tick_ns() const { return static_cast<std::int64_t>(1e9 / rig_.tick_hz); }

  // The thread's own. now_ns_ is read once a turn, so that a turn is one moment for all it decides.
  const Options options_;
  show::Rig rig_;
  std::optional<show::Rig> next_rig_;  ///< waits until the boards are silent
  std::uint32_t next_rig_number_ = 0;
  Conversation conversation_;
  std::string port_text_;
  PortPtr port_;
  std::optional<show::Finding> port_trouble_;  ///< why the last attempt failed or the link was lost
  std::optional<show::Finding> note_;          ///< why the boards are no longer armed, where that was not the person's wish
  std::int64_t now_ns_ = 0;
  std::int64_t retry_at_ns_ = 0, retry_after_ns_ = 0;
  std::int64_t resume_until_ns_ = 0;  ///< lost while armed: armed again by itself if back by then; 0: not
  bool was_armed_ = false;            ///< since the person asked for it
  bool was_ready_ = false;            ///< since the port was asked for: from then on a missing link is a lost one
  std::int64_t published_ns_ = 0;
  std::int64_t look_at_ns_ = 0;       ///< when the next frame should be there, by the last one
  Status mine_;
  std::uint64_t frames_abandoned_ = 0;  ///< pushed, but disarmed before they were written

  // Where threads meet.
  threads::Ring<Frame, 16> frames_;
  std::atomic<std::uint64_t> frames_refused_by_ring_{0};
  /// From the moment at which another rig is ordered until the link goes by it, no frame is taken: its pulses would be counted by other actuators.
  std::atomic<std::uint32_t> rig_ordered_{0}, rig_served_{0};
  ArmedSlot slot_;
  Wake wake_;
  std::atomic<bool> quit_{false};
  mutable std::mutex mutex_;  ///< over the next two
  Orders orders_;
  Status told_;

  std::thread thread_;  ///< the last member: it uses all others
};

}  // namespace mien::link
