// The small head with a show that cues are asked of: two poses, two clips, two markers. Invented.
#pragma once
#include "heads.hpp"
#include "show/cue.hpp"
#include "support/time.hpp"

namespace mien::perform::testing {

using support::ms;

inline show::Cue cue(std::string name, show::CueDeed deed, show::Time fade_in = ms(0), show::Time fade_out = ms(0)) {
  show::Cue c;
  c.name = std::move(name), c.deed = std::move(deed), c.fade_in = fade_in, c.fade_out = fade_out;
  return c;
}

inline std::shared_ptr<show::Show> cued_show(std::vector<show::Cue> cues) {
  const auto show = empty_show(ms(4000));
  show->markers = {{ms(1000), "middle"}, {ms(2000), "late"}};
  add_channel(*show, "smile", {{ms(0), 0, show::kLinear}, {ms(4000), 1, show::kLinear}});
  const auto clip = [](const char* name, const char* control, show::Time length, double top) {
    return std::make_shared<const show::Clip>(show::Clip{name, length, {std::make_shared<const show::Channel>(show::Channel{control, {{ms(0), 0, show::kLinear}, {length / 2, top, show::kLinear}, {length, 0.25 * top, show::kLinear}}})}});
  };
  show->poses = {std::make_shared<const show::Pose>(show::Pose{"glad", {}, "", {{"smile", 0.8}}}), std::make_shared<const show::Pose>(show::Pose{"agape", {}, "", {{"open", 0.6}}})};
  show->clips = {clip("yawn", "open", ms(1000), 1), clip("wink", "blink", ms(400), 1)};
  show->cues = std::move(cues);
  return show;
}

}  // namespace mien::perform::testing
