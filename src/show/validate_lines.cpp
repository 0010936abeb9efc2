#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "show/report.hpp"

namespace mien::show {
namespace {

class LinesCheck {
 public:
  LinesCheck(const Rig& rig, Report& report) : rig_(rig), report_(report), boards_(names_of(rig.boards)), controls_(names_of(rig.controls)) {}

  void run() {
    for (std::size_t i = 0; i < rig_.boards.size(); ++i) identity(rig_.boards[i].identity, titled("board", rig_.boards[i].name, i));
    identities();
    for (std::size_t i = 0; i < rig_.actuators.size(); ++i) pulses(rig_.actuators[i], titled("actuator", rig_.actuators[i].name, i));
    for (const Board& board : rig_.boards)
      if (board.paired_outputs) pairs(board);
    for (std::size_t i = 0; i < rig_.controls.size(); ++i) states(rig_.controls[i], titled("control", rig_.controls[i].name, i));
    check_names(report_, "auxiliary", names_of(rig_.auxiliaries), "");
    if (rig_.auxiliaries.size() > kMaxAuxiliaries)
      report_.error("", counted(rig_.auxiliaries.size(), "auxiliary", "auxiliaries") + ": a rig can have " + std::to_string(kMaxAuxiliaries),
                    "Take out what is not needed.");
    for (std::size_t i = 0; i < rig_.auxiliaries.size(); ++i) auxiliary(rig_.auxiliaries[i], titled("auxiliary", rig_.auxiliaries[i].name, i));
    check_names(report_, "input", names_of(rig_.inputs), "");
    if (rig_.inputs.size() > kMaxInputs)
      report_.error("", counted(rig_.inputs.size(), "input", "inputs") + ": a rig can have " + std::to_string(kMaxInputs), "Take out what is not needed.");
    for (std::size_t i = 0; i < rig_.inputs.size(); ++i) input(rig_.inputs[i], titled("input", rig_.inputs[i].name, i));
  }

 private:
  bool within(const std::string& place, double value, double low, double high, const std::string& unit) {
    if (value >= low && value <= high) return true;
    report_.error(place, "is " + number_text(value) + unit, "Give " + number_text(low) + " to " + number_text(high) + unit + ".");
    return false;
  }

  void identity(const std::string& text, const std::string& title) {
    const bool hex = std::all_of(text.begin(), text.end(), [](char c) { return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'F'); });
    if (!text.empty() && (text.size() != 16 || !hex))
      report_.error(title + ", identity", "is no board's identity", "Let 'mien adopt' write it, or leave it out.");
  }

  // One very board can't stand in two places, so the head misses one of them until the rig is mended; a warning, so that 'mien adopt' can.
  void identities() {
    std::map<std::string, std::string> first;
    for (const Board& board : rig_.boards) {
      if (board.identity.empty()) continue;
      const auto [other, fresh] = first.emplace(board.identity, board.name);
      if (!fresh)
        report_.warning("board " + quoted(board.name) + ", identity", "is the identity of board " + quoted(other->second) + ", too",
                      "Let 'mien adopt' write it, or take out the one that is wrong.");
    }
  }

  void input(const Input& input, const std::string& title) {
    report_.must_be_known(boards_, "board", input.board, title + ", board", "Add the board to the rig's boards.");
    within(title + ", line", input.line, 0, kMaxInputsPerBoard - 1, "");
    within(title + ", settle_ms", input.settle_ms, 0, 1000, " ms");
    if (const auto* from = std::get_if<PlayFrom>(&input.action); from && from->marker.empty())
      report_.error(title + ", marker", "is empty", "Name the marker to play from.");
    if (const auto* start = std::get_if<StartCue>(&input.action); start && start->cue.empty())
      report_.error(title + ", cue", "is empty", "Name the cue to start.");
    if (const auto* set = std::get_if<SetState>(&input.action)) check(*set, title);
    // Both edges of a line may do something; the same edge twice would make the order count.
    const auto [other, fresh] = edges_.emplace(std::tuple{input.board, input.line, input.active_low, subject_of(input)}, title);
    if (!fresh)
      report_.error(title + ", line", "line " + std::to_string(input.line) + " of board " + quoted(input.board) + " does the like for " + other->second,
                    "Give each input a line of its own, or let one of them count the other level (active_low).");
  }

  // What it concerns: one level of a line may start the show and set the states of several modules, but one thing of each.
  static std::string subject_of(const Input& input) {
    const auto* set = std::get_if<SetState>(&input.action);
    if (std::holds_alternative<StartCue>(input.action)) return "cue";
    return set ? "state of " + set->auxiliary : "show";
  }

  void check(const SetState& set, const std::string& title) {
    report_.must_be_known(names_of(rig_.auxiliaries), "auxiliary", set.auxiliary, title + ", auxiliary", "Add it to the rig's auxiliaries.");
    for (const Auxiliary& a : rig_.auxiliaries) {
      if (a.name != set.auxiliary) continue;
      if (!std::holds_alternative<Code>(a.kind)) {
        report_.error(title + ", auxiliary", quoted(a.name) + " is no code, so it has no states", "Name an auxiliary of the kind 'code'.");
        continue;
      }
      for (const Control& c : rig_.controls)
        if (c.name == a.control)
          report_.must_be_known(c.states, "state", set.state, title + ", state", "Name a state of control " + quoted(c.name) + ".");
    }
  }

  void pulses(const Actuator& a, const std::string& title) {
    if (!within(title + ", pulse_rate_hz", a.pulse_rate_hz, 50, 333, " Hz")) return;
    const double period_us = std::floor(1e6 / a.pulse_rate_hz);
    if (a.pulse_offset_us >= 0 && a.pulse_offset_us < period_us) return;
    report_.error(title + ", pulse_offset_us", "is " + number_text(a.pulse_offset_us) + " us, but a period at " + number_text(a.pulse_rate_hz) +
                      " Hz is " + number_text(period_us) + " us", "Give an offset from 0 to less than the period.");
  }

  // Both outputs of a pair start their pulses when the one counter of their timer wraps.
  void pairs(const Board& board) {
    for (const Actuator& a : rig_.actuators)
      for (const Actuator& b : rig_.actuators) {
        if (a.board != board.name || b.board != board.name || a.output % 2 != 0 || b.output != a.output + 1) continue;
        if (a.pulse_rate_hz == b.pulse_rate_hz && a.pulse_offset_us == b.pulse_offset_us) continue;
        report_.error("actuator " + quoted(b.name) + ", output",
                      "shares a timer with actuator " + quoted(a.name) + ", which has another pulse rate or offset",
                      "Give both the same, or move one to an output of another pair (0 and 1, 2 and 3, ...).");
      }
  }

  void states(const Control& c, const std::string& title) {
    if (c.states.empty()) return;
    check_names_of_states(c, title);
    if (c.min != 0 || c.max != static_cast<double>(c.states.size()) - 1)
      report_.error(title + ", states", "has " + counted(c.states.size(), "state", "states") + ", but ranges from " + number_text(c.min) + " to " +
                        number_text(c.max), "Make min 0 and max " + std::to_string(c.states.size() - 1) + ".");
    if (c.rest != std::round(c.rest)) report_.error(title + ", rest", "is between two states", "Give the number of a state.");
  }

  void check_names_of_states(const Control& c, const std::string& title) {
    if (c.states.size() < 2 || c.states.size() > 256)
      report_.error(title + ", states", "has " + counted(c.states.size(), "state", "states"), "Give 2 to 256.");
    check_names(report_, "state", c.states, title + ", ");
  }

  void auxiliary(const Auxiliary& a, const std::string& title) {
    report_.must_be_known(boards_, "board", a.board, title + ", board", "Add the board to the rig's boards.");
    const bool own = std::holds_alternative<Fan>(a.kind);
    if (!own || !a.control.empty())
      report_.must_be_known(controls_, "control", a.control, title + ", control", "Add the control to the rig's controls.");
    if (within(title + ", line", a.line, 0, kMaxLinesPerBoard - 1, "")) take(a.board, a.line, title);
    if (++on_board_[a.board] == kMaxAuxiliariesPerBoard + 1)
      report_.error(title + ", board", "has more than " + std::to_string(kMaxAuxiliariesPerBoard) + " auxiliaries", "Move some to another board.");
    if (const auto* fan = std::get_if<Fan>(&a.kind)) check(*fan, a.board, title);
    if (const auto* code = std::get_if<Code>(&a.kind)) check(*code, a, title);
  }

  void check(const Fan& fan, const std::string& board, const std::string& title) {
    const auto found = std::find_if(rig_.boards.begin(), rig_.boards.end(), [&](const Board& b) { return b.name == board; });
    if (!fan.rail.empty() && found != rig_.boards.end())
      report_.must_be_known(names_of(found->rails), "rail", fan.rail, title + ", rail", "Add the rail to board " + quoted(board) + ".");
    within(title + ", draw_a", fan.draw_a, 0, 60, " A");
    within(title + ", smooth_s", fan.smooth_s, 1, 255, " s");
    if (within(title + ", on_a", fan.on_a, 0.001, 65, " A") && !(fan.off_a >= 0 && fan.off_a < fan.on_a))
      report_.error(title + ", off_a", "is " + number_text(fan.off_a) + " A, not below on_a", "Let the fan stop at less than it starts at.");
  }

  void check(const Code& code, const Auxiliary& a, const std::string& title) {
    within(title + ", settle_ms", code.settle_ms, 0, 1000, " ms");
    if (!within(title + ", lines", code.lines, 1, 8, "")) return;
    if (a.line + code.lines > kMaxLinesPerBoard)
      report_.error(title + ", lines", "goes beyond line " + std::to_string(kMaxLinesPerBoard - 1), "Start at a lower line.");
    for (int n = 1; n < code.lines; ++n) take(a.board, a.line + n, title);
    if (code.strobe >= 0 && within(title + ", strobe", code.strobe, 0, kMaxLinesPerBoard - 1, "")) take(a.board, code.strobe, title);
    for (const Control& c : rig_.controls) {
      if (c.name != a.control) continue;
      const auto most = std::size_t{1} << code.lines;
      if (c.states.empty()) report_.error(title + ", control", "has no states", "Name the control's states; the code says their number.");
      else if (c.states.size() > most)
        report_.error(title + ", lines", counted(c.states.size(), "state", "states") + " need more than " + counted(static_cast<std::size_t>(code.lines), "line", "lines"),
                      "Give it more lines: n lines say 2 to the n states.");
    }
  }

  void take(const std::string& board, int line, const std::string& title) {
    const auto [other, fresh] = taken_.emplace(std::pair{board, line}, title);
    if (!fresh)
      report_.error(title + ", line", "line " + std::to_string(line) + " of board " + quoted(board) + " is taken by " + other->second,
                    "Give each auxiliary lines of its own.");
  }

  const Rig& rig_;
  Report& report_;
  std::vector<std::string> boards_, controls_;
  std::map<std::pair<std::string, int>, std::string> taken_;
  std::map<std::string, int> on_board_;
  std::map<std::tuple<std::string, int, bool, std::string>, std::string> edges_;
};

}  // namespace

void validate_lines(const Rig& rig, Report& report) { LinesCheck(rig, report).run(); }

}  // namespace mien::show
