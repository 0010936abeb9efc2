// Everything that moves or sounds, as the window sees it: the performing thread, the link and the sound, behind one face, so
// that the window runs in tests without any of them.
#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "link/session.hpp"
#include "live/devices.hpp"
#include "live/mtc_sender.hpp"
#include "live/network.hpp"
#include "perform/performer.hpp"
#include "sound/player.hpp"

namespace mien::editor {

class Stage {
 public:
  virtual ~Stage() = default;
  virtual void set_rig(const show::Rig& rig) = 0;
  virtual void publish(std::shared_ptr<const show::Rig> rig, show::ShowPtr show) = 0;
  virtual void set_sounds(std::vector<sound::Placed> sounds) = 0;

  virtual void play() = 0;
  virtual void pause() = 0;
  virtual void stop_playing() = 0;  ///< pause, and back to the start
  virtual void seek(show::Time time) = 0;
  virtual void scrub(show::Time time) = 0;
  virtual void set_loop(show::Range loop) = 0;

  virtual void open_port(const std::string& port) = 0;
  virtual void close_port() = 0;
  virtual void arm() = 0;
  virtual void disarm() = 0;
  virtual void stop() = 0;  ///< outputs go silent now
  virtual void adopt() = 0;  ///< takes the boards that answer for the rig's own, for this session; none of them drives anything by that
  virtual void set_state(int auxiliary, std::uint8_t value) = 0;  ///< as Performer's

  virtual void set_hands(const live::HandMap&) {}  ///< what they may move, from now on
  virtual std::vector<live::Devices::Device> devices() { return {}; }  ///< looks for those that came or went, once a second at most
  virtual int gamepads() { return 0; }             ///< looks at those that are there, and says how many; once a frame
  virtual void panic() {}                          ///< these four: as Performer's
  virtual void give(int /*group*/, bool /*on*/) {}
  virtual void record(bool /*on*/) {}
  virtual bool take(live::TakeTick&) { return false; }

  virtual std::vector<std::string> addresses() { return {}; }  ///< of OSC, as the program of hands that performs counts them
  virtual std::optional<show::Finding> open_network(const live::NetworkSettings&) { return {}; }  ///< in place of what was open
  virtual live::NetworkStatus network() { return {}; }
  virtual std::optional<live::NetworkOrder> network_order() { return {}; }
  virtual void tell_network(const live::ShowState&) {}
  virtual void follow(const live::FollowSettings&) {}  ///< as Performer's
  virtual std::vector<std::string> midi_outputs() { return {}; }   ///< looks for those that came or went, once a second at most
  virtual std::optional<show::Finding> send_code(const live::SendCode&) { return {}; }  ///< time code from now on, in place of what was sent; what is wrong: nothing is sent
  virtual live::CodeSent code_sent() { return {}; }
  virtual void start_cue(int /*cue*/) {}           ///< these, too
  virtual void release_cue(int /*cue*/) {}
  virtual void release_cues() {}
  virtual void set_cues_live(bool /*live*/) {}
  virtual void set_day(std::int64_t /*day_ns*/) {}

  virtual const perform::Report& report() = 0;
  virtual link::Status link() = 0;
  virtual std::optional<show::Finding> silent_because() = 0;
};

/// The real one: a performing thread, a link and a sound device of its own.
std::unique_ptr<Stage> real_stage(bool mute);

}  // namespace mien::editor
