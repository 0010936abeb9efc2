// The link to the boards: opens a port, greets the boards, arms them, carries frames, notices loss, comes back. One thread of its
// own does all of it; every call here returns at once and may come from the window's thread.
#pragma once
#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "threads/ring.hpp"

namespace mien::link {

/// Pulses travel in sixteenths of a microsecond; 0 means "this output is not driven by this frame".
inline constexpr double kPulseUnitsPerUs = 16.0;

/// All setpoints of one tick, by the rig's actuator index.
struct Frame {
  std::uint32_t sequence = 0;
  std::uint32_t epoch = 0;    ///< Armed::epoch that the frame was computed for; a frame of any other epoch is never sent
  std::int64_t latch_ns = 0;  ///< steady clock; when the boards are to latch it
  int count = 0;              ///< actuators in use
  std::array<std::uint16_t, show::kMaxActuators> pulse{};
  std::uint32_t joins = 0;    ///< Armed::joins that the frame was computed with: boards that joined later are left out of it
  int values = 0;             ///< auxiliaries in use, by the rig's index
  std::array<std::uint8_t, show::kMaxAuxiliaries> value{};  ///< as on the wire
};

enum class State : std::uint8_t {
  closed,    ///< no port asked for
  opening,   ///< port asked for, not open (yet, or again): tried again and again
  greeting,  ///< port open, no board has answered
  ready,     ///< boards known, outputs silent
  arming,    ///< limits being sent
  armed,     ///< frames drive the servos
  disarming, ///< the boards creep to rest by themselves, then go silent
  lost,      ///< port gone or boards silent; tried again by itself
};
std::string_view name(State state) noexcept;

/// A board's identity as rigs and messages write it: 16 hexadecimal digits.
std::string identity_text(std::uint64_t identity);

/// Which very board answers at a place, held against the one that belongs there: the rig's, or the first that answered.
enum class Standing : std::uint8_t {
  expected,  ///< that one, or none answers
  replaced,  ///< one that the rig does not know; it keeps silent
  swapped,   ///< another of the rig's boards; both keep silent
};

struct BoardStatus {
  std::string name;  ///< the rig's name for it
  int address = 0;
  bool answering = false;
  bool performing = false;  ///< armed, with frames for it; while armed, false names a board that the head does without
  int protocol_version = 0;
  std::string firmware;
  std::uint64_t identity = 0;
  Standing standing = Standing::expected;  ///< what adopt() would change
  std::string stands_there;                ///< swapped: the rig's name of the board that answers here
  std::uint32_t frames_latched = 0, frames_late = 0, frames_bad = 0, clamped = 0, slewed = 0;
  double clock_offset_us = 0;
  double clock_drift_ppm = 0;
  std::uint32_t unrelayed = 0;  ///< what came from the board below it and was not passed on
  std::uint32_t times_restarted = 0;
  struct Rail { double voltage_v = 0, current_a = 0; };
  std::vector<Rail> rails;      ///< as measured, ten times a second; empty from a board that measures nothing
  bool reported = false;        ///< it told its levels and pulses since it answered (again), and is the board that belongs there
  std::uint16_t inputs = 0;     ///< levels, a bit each
  std::uint8_t faults = 0;      ///< wire::Fault
  std::uint16_t driven = 0;     ///< outputs that pulse, a bit each
  std::array<std::uint16_t, 16> pulse{};  ///< of each output, in wire units; 0 where not known
};

struct Status {
  State state = State::closed;
  std::string port;
  std::optional<show::Finding> trouble;  ///< why the state is what it is, with the cure; nothing when all is well
  std::vector<BoardStatus> boards;
  std::uint64_t frames_sent = 0, frames_acknowledged = 0, frames_refused = 0, frames_dropped = 0;
  std::uint64_t bytes_out = 0, bytes_in = 0;
  std::uint64_t messages_garbled = 0;  ///< what came in and was no whole, intact message: noise on the line
  double round_trip_us = 0;
  std::uint32_t times_lost = 0;
};

/// What arming tells the performing thread: where the head rests now, so that the first move creeps from there.
struct Armed {
  std::uint32_t epoch = 0;  ///< 0 while not armed; a new number for every arming, by hand or after a loss
  std::array<std::uint16_t, show::kMaxActuators> pulse{};  ///< as the boards report; rest where a board does not know
  std::uint32_t joins = 0;  ///< how many times boards joined (again) since the arming
  /// The value of `joins` when each actuator's board joined last; 0 from the beginning. One that rises means: this actuator alone stands
  /// at its pulse and creeps from there, whatever was sent for it before.
  std::array<std::uint32_t, show::kMaxActuators> joined{};
};

struct Options {
  double resume_within_s = 10;  ///< a link lost while armed arms itself again if it is back within this time; 0: never
};

class Session {
 public:
  explicit Session(const show::Rig& rig, Options options = {});
  ~Session();  ///< stops the boards if armed, then closes
  Session(const Session&) = delete;
  Session& operator=(const Session&) = delete;

  /// "sim:" (boards simulated in this process), "tcp:HOST:PORT", or a serial device's path, with its rate as in "/dev/ttyUSB0@115200"
  /// (1,000,000 baud otherwise). Replaces an open port, whose boards are stopped first. Keeps trying, 50 ms to 1 s apart.
  void open(const std::string& port);
  void close();
  /// A rig that boards would be told the same for changes nothing for them. Another one takes effect at once while no board drives
  /// anything; while armed it disarms first, and takes effect when the head is silent. Boards of "sim:" are then new ones.
  void set_rig(const show::Rig& rig);

  /// Takes effect while ready or disarming; in any other state it does nothing, so that no board which turns up later moves
  /// because of a key pressed long ago.
  void arm();
  void disarm();  ///< outputs go silent after the boards crept to rest; a lost link no longer arms itself again
  void stop();    ///< outputs go silent now; ahead of anything queued, and whatever the state

  /// Takes the boards that answer for the rig's own, whatever their identities and the order in which they are plugged: the person
  /// looked. Until the program or the port is opened again; what is to last goes into the rig.
  void adopt();

  /// The performing thread's side: no lock, no allocation, no system call: the link's thread looks when one is due. False, and nothing
  /// sent, while not armed, when the frame is of another epoch than armed() tells, and when the ring is full.
  bool push(const Frame& frame) noexcept;
  Armed armed() const noexcept;

  Status status() const;

 private:
  struct Core;
  std::unique_ptr<Core> core_;
};

/// Every serial port of this machine: path and a description for people.
struct PortInfo { std::string path, description; };
std::vector<PortInfo> serial_ports();

}  // namespace mien::link
