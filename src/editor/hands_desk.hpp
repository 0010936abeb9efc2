// What the window knows about hands: the map beside the rig, the devices, what is being learned and recorded.
#pragma once
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "live/devices.hpp"
#include "live/hand_map.hpp"
#include "live/take.hpp"

namespace mien::editor {

inline constexpr double kMostCountIn_s = 10;

struct HandsDesk {
  live::HandMap map;
  std::filesystem::path file;        ///< of the map, beside the rig: NAME.map.json; every change is kept there at once
  std::filesystem::path takes_file;  ///< beside the show: NAME.take.json; empty while the show has no file
  std::vector<live::Devices::Device> devices;
  std::string learning;              ///< the control that the next knob is to move; empty: none
  std::uint64_t heard = 0;           ///< touches when that began
  std::optional<live::Trigger> learning_trigger;  ///< what the next key is to do; its source is not known yet
  int unfolded = -1, unfolded_trigger = -1;       ///< rows whose fields show
  std::vector<char> given;           ///< by group of the rig
  std::vector<std::string> spared;   ///< controls that hands move but that aren't recorded
  double count_in_s = 3;
  double error_percent = 0.5;        ///< of each control's range: how far from what was played the keys of a kept take may be
  std::int64_t count_in_until_ns = 0;  ///< steady time; 0: nobody counts
  bool recording = false, rolling = false;  ///< asked to, and the show has been seen to play since
  std::optional<live::Takes> tape;
  std::vector<live::Take> takes;     ///< raw, until dropped
};

}  // namespace mien::editor
