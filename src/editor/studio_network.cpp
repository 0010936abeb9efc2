// The part of the studio that deals with other machines: what they ask of the show, and whose time it follows.
#include <utility>

#include "editor/studio.hpp"
#include "perform/orders.hpp"

namespace mien::editor {

void Studio::apply_one(const UseNetwork& c) {
  auto problem = stage_.send_code(c.code);
  if (!problem) problem = stage_.open_network(c.network);
  if (problem) {
    panels_.network.problem = problem->what + ". " + problem->cure;
    return;  // the dialog stays
  }
  ask(Dialog::none);
  notices_ = live::cautions(c.network);
  stage_.follow(c.follow);
  follows_ = c.follow.source;
  const auto now = stage_.network();
  journal_.line("network" + (now.osc ? " osc " + live::to_text(now.osc_at) : std::string()) + (now.sacn ? " sacn " + live::to_text(now.sacn_at) : std::string()) + " follow " + live::name(follows_));
}

void Studio::follow_network() {
  const bool was_there = std::exchange(code_sent_, stage_.code_sent()).there;
  if (code_sent_.on && code_sent_.there != was_there) journal_.line(live::to_text(code_sent_));
  network_ = stage_.network();
  if (!network_.osc) return;
  const bool armed_now = link_.state == link::State::armed;
  stage_.tell_network({show::to_seconds(report_.time), report_.playing, armed_now, armed_now && !link_.trouble, perform::cue_on(report_.cues, document_.whole())});
  const perform::Runner runner{[this] { stage_.play(); }, [this] { stage_.stop_playing(); }, [this](show::Time at) { stage_.seek(at); }, [this](int cue) { stage_.start_cue(cue); }, follows_ != live::FollowSettings::Source::none};
  while (const auto order = stage_.network_order())
    if (document_.open() && !bench_) journal_.line("OSC " + perform::obey(*order, document_.whole(), runner));  // at the workbench a person alone moves anything
}

}  // namespace mien::editor
