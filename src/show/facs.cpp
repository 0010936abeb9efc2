#include "show/facs.hpp"

#include <array>

namespace mien::show {
namespace {

constexpr std::array kUnits{ActionUnit{1, "inner brow raiser"}, ActionUnit{2, "outer brow raiser"}, ActionUnit{4, "brow lowerer"},
                            ActionUnit{5, "upper lid raiser"}, ActionUnit{6, "cheek raiser"}, ActionUnit{7, "lid tightener"},
                            ActionUnit{9, "nose wrinkler"}, ActionUnit{10, "upper lip raiser"}, ActionUnit{12, "lip corner puller"},
                            ActionUnit{15, "lip corner depressor"}, ActionUnit{17, "chin raiser"}, ActionUnit{18, "lip pucker"},
                            ActionUnit{20, "lip stretcher"}, ActionUnit{22, "lip funneler"}, ActionUnit{23, "lip tightener"},
                            ActionUnit{24, "lip pressor"}, ActionUnit{25, "lips part"}, ActionUnit{26, "jaw drop"},
                            ActionUnit{27, "mouth stretch"}, ActionUnit{28, "lip suck"}, ActionUnit{43, "eyes closed"},
                            ActionUnit{45, "blink"}, ActionUnit{51, "head turn left"}, ActionUnit{52, "head turn right"},
                            ActionUnit{53, "head up"}, ActionUnit{54, "head down"}, ActionUnit{55, "head tilt left"},
                            ActionUnit{56, "head tilt right"}, ActionUnit{61, "eyes left"}, ActionUnit{62, "eyes right"},
                            ActionUnit{63, "eyes up"}, ActionUnit{64, "eyes down"}};

}  // namespace

std::span<const ActionUnit> action_units() noexcept { return kUnits; }

std::string_view action_unit_name(int number) noexcept {
  for (const ActionUnit& unit : kUnits)
    if (unit.number == number) return unit.name;
  return {};
}

std::string action_units_text(const std::vector<int>& numbers) {
  std::string text;
  for (const int number : numbers) {
    text += (text.empty() ? "" : ", ") + std::to_string(number);
    if (const auto name = action_unit_name(number); !name.empty()) text += " " + std::string(name);
  }
  return text;
}

}  // namespace mien::show
