// The host's side of the protocol with all boards behind one port: greets, configures, arms, measures clocks, notices silence.
// Knows no port, no thread and no clock: bytes and times go in, packets come out.
#pragma once
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "link/outbox.hpp"
#include "link/peer.hpp"
#include "link/session.hpp"

namespace mien::link {

/// It works by comparing what is with what is wanted: at every step each board is asked for the next thing that separates it from
/// the goal, until nothing does. A lost answer or a restarted board therefore needs no case of its own. Times are of the
/// steady clock, in nanoseconds.
class Conversation {
 public:
  explicit Conversation(const show::Rig& rig);

  /// A port was opened (again): nothing that boards said before holds. The goal stays.
  void begin(std::int64_t now_ns);
  void receive(std::span<const std::uint8_t> bytes, std::int64_t now_ns);
  /// Puts what is due into the outbox.
  void step(std::int64_t now_ns);
  /// When step() has something to do again if nothing arrives before.
  std::int64_t next_due_ns(std::int64_t now_ns) const;

  /// Other boards, or other limits for them. As after begin(); counts go on.
  void set_rig(const show::Rig& rig, std::int64_t now_ns);
  /// Whether the boards would be told exactly the same for this rig.
  bool serves(const show::Rig& rig) const;

  /// stop goes ahead of everything in the outbox; the others take their turn.
  void set_goal(Goal goal, std::int64_t now_ns);
  Goal goal() const noexcept { return goal_; }
  /// Puts a frame for all boards. Precondition: armed().
  void send(const Frame& frame);

  /// Boards of the rig answered, fit, and know their limits: every one but those that the head does without, and at least one.
  bool configured() const noexcept;
  bool silent() const noexcept;      ///< no board drives an output or was just told something that changes that
  bool creeping_to_rest() const noexcept;  ///< an armed board ran out of frames and left its last setpoint
  bool armed() const noexcept;       ///< the goal is reached: every board armed, and its pulses known
  const Peer* gone_quiet(std::int64_t now_ns) const noexcept;  ///< a board that left several heartbeats unanswered, where all did
  /// The actuators (a bit each) of boards that came back to an armed head since the last call. No frame is sent to them before
  /// joined() tells from which Frame::joins on frames are computed for them.
  std::uint64_t take_rejoined();
  void joined(std::uint32_t joins) noexcept;
  /// Takes whatever boards answer for the rig's own; with a rig, those that it names.
  void adopt();
  void take_identities(const show::Rig& rig);
  /// Where outputs are, by the rig's actuator index; rest where a board does not know.
  std::array<std::uint16_t, show::kMaxActuators> pulses() const;

  Outbox& outbox() noexcept { return outbox_; }
  const Outbox& outbox() const noexcept { return outbox_; }
  /// What the boards' side has to say about why things are as they are; without a file, for the port is not known here.
  std::optional<show::Finding> trouble(std::int64_t now_ns) const;
  void describe(Status& status, std::int64_t now_ns) const;
  const std::vector<Peer>& peers() const noexcept { return peers_; }

 private:
  void handle(wire::Bytes packet, std::int64_t now_us);
  void hear(Peer& peer, const wire::Description& said, std::int64_t now_us);
  void hear(Peer& peer, const wire::Acknowledgement& said, std::int64_t now_us);
  void hear(Peer& peer, const wire::StateReport& said, std::int64_t now_us);
  void hear_newcomer(const wire::Description& said, std::int64_t now_us);
  void identify(Peer& peer);
  void restarted(Peer& peer);
  void do_without(Peer& peer, bool while_armed);
  static bool quiet(const Peer& peer, std::int64_t now_us) noexcept;
  bool others_armed(const Peer& peer) const noexcept;
  void look_for_missing(std::int64_t now_us);
  bool settled_before(const Peer& peer) const noexcept;
  void welcome_back();
  void share_delay();
  void hear(Peer& peer, const wire::Refusal& said, std::int64_t now_us);
  void ask(Peer& peer, wire::Type type, std::int64_t now_us);
  void put_request(Peer& peer, wire::Type type);
  void put_limits(const Peer& peer);
  void beat(Peer& peer, std::int64_t now_us);
  bool line_is_clear_for(const Peer& peer, std::int64_t now_us) const noexcept;
  Peer* find(int address) noexcept;
  std::uint8_t next_token() noexcept;
  std::uint64_t acknowledged() const noexcept;
  std::uint64_t refused() const noexcept;
  template <class Message>
  void put(const Message& message);

  std::vector<Peer> peers_;
  Goal goal_ = Goal::disarm;
  Outbox outbox_;
  wire::Deframer deframer_;
  std::uint64_t malformed_ = 0;
  std::uint64_t earlier_refused_ = 0, earlier_acknowledged_ = 0;  ///< with the rigs before this one
  std::uint8_t token_ = 0;
  std::int64_t began_us_ = 0, newcomer_at_us_ = 0;
  std::uint64_t rejoined_ = 0;
  bool adopted_ = false;
  bool spoke_ = false;  ///< something was put since the last step began
  std::int64_t line_clear_at_us_ = 0;
};

}  // namespace mien::link
