#include "perform/inputs.hpp"

#include <algorithm>

namespace mien::perform {
namespace {

const link::BoardStatus* find_board(const link::Status& link, const std::string& name) {
  for (const auto& board : link.boards)
    if (board.name == name) return &board;
  return nullptr;
}

Order set_state(const show::SetState& set, const show::Rig& rig) {
  for (std::size_t n = 0; n < rig.auxiliaries.size(); ++n) {
    if (rig.auxiliaries[n].name != set.auxiliary) continue;
    for (const auto& control : rig.controls) {
      if (control.name != rig.auxiliaries[n].control) continue;
      const auto state = std::find(control.states.begin(), control.states.end(), set.state);
      if (state == control.states.end()) return {};
      const auto value = show::auxiliary_value(rig.auxiliaries[n], control, static_cast<double>(state - control.states.begin()));
      return {.what = Order::Do::set_state, .auxiliary = static_cast<int>(n), .value = value};
    }
  }
  return {};
}

Order play_from(const show::PlayFrom& from, const show::Show& show) {
  for (const auto& marker : show.markers)
    if (marker.name == from.marker) return {.what = Order::Do::play_from, .from = marker.time};
  return {};
}

}  // namespace

void InputWatch::set_rig(std::shared_ptr<const show::Rig> rig) {
  rig_ = std::move(rig);
  lines_.assign(rig_ ? rig_->inputs.size() : 0, {});
}

std::vector<int> InputWatch::look(const link::Status& link, std::int64_t now_ns) {
  std::vector<int> acting;
  for (std::size_t n = 0; n < lines_.size(); ++n) {
    const show::Input& input = rig_->inputs[n];
    Line& line = lines_[n];
    const auto* board = find_board(link, input.board);
    if (!board || !board->reported) {
      line.known = false;
      continue;
    }
    const bool level = (board->inputs >> input.line & 1) != (input.active_low ? 1 : 0);
    if (!line.known) line = {true, level, level, now_ns};
    if (level != line.level) line.level = level, line.since_ns = now_ns;
    const bool stands = static_cast<double>(now_ns - line.since_ns) >= input.settle_ms * 1e6;
    if (line.level == line.settled || !stands) continue;
    line.settled = line.level;
    if (line.settled) acting.push_back(static_cast<int>(n));
  }
  return acting;
}

Order order_of(const show::Input& input, const show::Rig& rig, const show::Show& show, bool playing) {
  if (std::holds_alternative<show::PlayShow>(input.action)) return {.what = playing ? Order::Do::nothing : Order::Do::play};
  if (std::holds_alternative<show::StopShow>(input.action)) return {.what = Order::Do::stop};
  if (const auto* from = std::get_if<show::PlayFrom>(&input.action)) return play_from(*from, show);
  if (const auto* start = std::get_if<show::StartCue>(&input.action)) {
    const int n = show::cue_index(show.cues, start->cue);
    return n < 0 ? Order{} : Order{.what = Order::Do::start_cue, .cue = n};
  }
  return set_state(std::get<show::SetState>(input.action), rig);
}

std::string to_text(const show::InputAction& action) {
  if (std::holds_alternative<show::PlayShow>(action)) return "plays the show";
  if (std::holds_alternative<show::StopShow>(action)) return "ends the show";
  if (const auto* from = std::get_if<show::PlayFrom>(&action)) return "plays from marker '" + from->marker + "'";
  if (const auto* start = std::get_if<show::StartCue>(&action)) return "starts cue '" + start->cue + "'";
  const auto& set = std::get<show::SetState>(action);
  return "tells " + set.auxiliary + " state '" + set.state + "'";
}

}  // namespace mien::perform
