// Other machines in a performance without a window: OSC, sACN, and whose time is followed or told.
#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/commands.hpp"
#include "live/devices.hpp"
#include "live/mtc_sender.hpp"
#include "live/network.hpp"
#include "perform/performer.hpp"
#include "show/show.hpp"

namespace mien::app {

/// Off, and nothing of it there, unless the words ask for it.
class Others {
 public:
  Others(const NetworkWords& words, live::Inlet& inlet, live::Devices& devices) : words_(words), inlet_(inlet), devices_(devices) {}

  bool any() const noexcept { return words_.osc >= 0 || words_.sacn > 0 || follows(); }
  bool follows() const noexcept { return !words_.follow.empty(); }
  /// Whether OSC may start the show.
  std::string may() const { return live::to_text(settings_.may); }
  bool may_start() const noexcept { return words_.osc >= 0 && settings_.may.transport; }

  /// Reads the words; then numbers its devices, before the map is compiled. What is wrong with them, where something is.
  std::optional<show::Finding> read();
  /// Opens what was asked for; `addresses` as HandProgram counts them. `notes` gets cautions.
  std::optional<show::Finding> open(std::vector<std::string> addresses, show::Findings& notes);
  void follow(perform::Performer& performer) const { if (follows()) performer.follow(follow_); }

  struct Now { bool armed = false, link_well = false; };
  /// Every few milliseconds: obeys, tells who asked, sends time code. A line for each order that came.
  std::vector<std::string> look(perform::Performer& performer, const show::Show& show, const Now& now);
  /// "follows mtc: locked at 25, 3 ms behind; OSC 127.0.0.1:9000: 12 messages": what there is to be said; empty where there is nothing.
  std::string line(const perform::Report& report) const;
  live::NetworkStatus status() const { return network_ ? network_->status() : live::NetworkStatus{}; }

 private:
  const NetworkWords& words_;
  live::Inlet& inlet_;
  live::Devices& devices_;
  live::NetworkSettings settings_;
  live::FollowSettings follow_;
  live::TimeCodeRate code_rate_ = live::TimeCodeRate::fps_25;
  show::Time begins_{0};
  std::string said_of_code_;
  int osc_device_ = 0, sacn_device_ = 0;
  bool begun_ = false;
  std::unique_ptr<live::Network> network_;
  std::unique_ptr<live::MtcSender> sender_;
};

}  // namespace mien::app
