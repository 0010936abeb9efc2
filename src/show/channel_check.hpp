// What can be wrong with a channel, wherever it stands: in a show, a clip or a layer. Inside src/show only.
#pragma once
#include <string>
#include <unordered_map>
#include <vector>

#include "show/channel.hpp"
#include "show/report.hpp"
#include "show/show.hpp"

namespace mien::show {

bool sound_easing(const Easing& easing) noexcept;
/// " at 1.25 s"
std::string at(Time time);

class ChannelCheck {
 public:
  ChannelCheck(const Rig& rig, Report& report);

  /// `whole`: what the keys should lie in, and what it is called ("the show").
  void check(const Channel& channel, const std::string& title, Time length, const std::string& whole);
  /// Of channels that stand together.
  void check_all(const std::vector<ChannelPtr>& channels, const std::string& before, Time length, const std::string& whole);
  void keys(const Channel& channel, const std::string& title, Time length, const std::string& whole);
  /// Null, having said so, where the rig has no such control.
  const Control* known(const std::string& control, const std::string& title);

 private:
  void values(const Channel& channel, const std::string& title);
  void states(const Channel& channel, const std::string& title);
  void range(const Channel& channel, const Control& control, const std::string& title);

  std::vector<std::string> names_;
  std::unordered_map<std::string, const Control*> controls_;
  Report& report_;
};

/// Poses, clips and layers of a show (validate_layers.cpp).
void validate_layers(const Show& show, const Rig& rig, ChannelCheck& channels, Report& report);

}  // namespace mien::show
