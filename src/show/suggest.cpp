#include "show/suggest.hpp"

#include <algorithm>
#include <set>

#include "show/report.hpp"
#include "show/suggest_controls.hpp"
#include "show/text.hpp"

namespace mien::show {
namespace {

class Making {
 public:
  Making(const Head& head, const std::string& file) : head_(head), file_(file) {}

  Suggested run() && {
    rig_.name = head_.name.empty() ? "New head" : head_.name;
    boards();
    for (const HeadRow& row : head_.rows) take(row);
    // Outputs that rows name come first, so that no suggestion takes one of them.
    for (std::size_t i = 0; i < rig_.actuators.size(); ++i)
      if (!told_output_[i]) place(i);
    groups();
    put_controls(rig_, parts_);
    return {std::move(rig_), std::move(notes_)};
  }

 private:
  void say(Severity severity, const HeadRow& row, std::string what, std::string cure) {
    std::string where = row.line > 0 ? "line " + std::to_string(row.line) : "";
    if (!row.name.empty()) where += (where.empty() ? "" : ", ") + ("'" + row.name + "'");
    notes_.push_back({severity, file_, std::move(where), std::move(what), std::move(cure)});
  }

  void add_board(const std::string& name) {
    Board board{name, static_cast<int>(rig_.boards.size()), std::clamp(head_.outputs, 1, kMaxOutputsPerBoard), {}};
    board.rails.push_back({name + " servos", std::max(0.0, head_.supply_a), head_.servo.voltage_v});
    rig_.boards.push_back(std::move(board));
  }
  void boards() {
    for (const HeadRow& row : head_.rows)
      if (!row.board.empty() && !find(row.board) && rig_.boards.size() < static_cast<std::size_t>(kMaxBoards)) add_board(row.board);
    if (!rig_.boards.empty()) return;
    // As many as the servos need, where that is more.
    const int outputs = std::clamp(head_.outputs, 1, kMaxOutputsPerBoard), needed = (static_cast<int>(head_.rows.size()) + outputs - 1) / outputs;
    for (int i = 0; i < std::clamp(std::max(head_.boards, needed), 1, kMaxBoards); ++i) add_board("board " + std::to_string(i));
  }
  const Board* find(const std::string& name) const {
    const auto found = std::find_if(rig_.boards.begin(), rig_.boards.end(), [&](const Board& b) { return b.name == name; });
    return found == rig_.boards.end() ? nullptr : &*found;
  }

  void take(const HeadRow& row) {
    if (row.name.empty()) return say(Severity::error, row, "the servo has no name", "Give it one in the column name.");
    if (!names_.insert(row.name).second) return say(Severity::error, row, "two servos have this name", "Give each its own.");
    if (rig_.actuators.size() == static_cast<std::size_t>(kMaxActuators)) return say(Severity::error, row, "a rig can have " + std::to_string(kMaxActuators) + " servos", "Split the head into two rigs.");
    if (!row.board.empty() && !find(row.board)) return say(Severity::error, row, "a rig can have " + std::to_string(kMaxBoards) + " boards", "Use fewer, larger ones.");
    const auto role = role_in(row);
    const auto sheet = row.servo.empty() ? Result<ServoSheet>(head_.servo) : parse_servo_sheet(row.servo, file_, "line " + std::to_string(row.line) + ", servo");
    if (!sheet) return notes_.push_back(sheet.problem());
    Actuator a{row.name, row.group.empty() ? std::string(role ? group_of(*role) : "others") : row.group, row.board, ""};
    if (!travel(row, role, *sheet, a)) return;
    if (a.board.empty() && row.output) a.board = rig_.boards.front().name;
    if (row.output && !free(row, a.board, *row.output)) return;
    a.output = row.output.value_or(0);
    kind(*sheet);
    if (role) part(row, *role);
    rig_.actuators.push_back(std::move(a));
    told_output_.push_back(row.output.has_value());
  }

  std::optional<Role> role_in(const HeadRow& row) {
    if (row.role.empty()) {
      const auto role = role_of(row.name);
      if (!role) say(Severity::note, row, "no part of the face is known by this name: it gets a control of its own, and a gauge in the preview", "Name its role in the column role, if it has one.");
      return role;
    }
    if (row.role == "none" || row.role == "-") return std::nullopt;
    const auto role = role_of(row.role);
    std::vector<std::string> known;
    for (int r = 0; r < kRoleCount; ++r) known.emplace_back(name(static_cast<Role>(r)));
    if (!role) say(Severity::warning, row, "'" + row.role + "' is no part of a face that is known here", suggestion(row.role, known));
    return role;
  }

  bool travel(const HeadRow& row, std::optional<Role> role, const ServoSheet& sheet, Actuator& a) {
    const Travel usual = role ? travel_of(*role) : Travel{-30, 30};
    a.min_deg = row.min_deg.value_or(usual.min_deg), a.max_deg = row.max_deg.value_or(usual.max_deg);
    a.rest_deg = row.rest_deg.value_or(std::clamp(0.0, std::min(a.min_deg, a.max_deg), std::max(a.min_deg, a.max_deg)));
    a.reversed = row.reversed.value_or(role && name(*role).ends_with("_right"));
    if (!(a.min_deg < a.max_deg)) return say(Severity::error, row, "min_deg is not below max_deg", "Exchange them; which way the servo turns is for the column reversed."), false;
    if (a.rest_deg < a.min_deg || a.rest_deg > a.max_deg) return say(Severity::error, row, "rest_deg lies outside min_deg to max_deg", "Put it between them."), false;
    if (put_limits(sheet, a)) say(Severity::warning, row, "the servo turns " + number_text(sheet.travel_deg) + " deg in all: the travel is cut to that", "Move the horn, or take a servo with more travel.");
    if (!(a.min_deg < a.max_deg)) return say(Severity::error, row, "nothing is left of its travel within what the servo can turn", "Count degrees from the middle of the servo's travel."), false;
    return true;
  }

  bool free(const HeadRow& row, const std::string& board, int output) {
    const Board* b = find(board);
    if (output < 0 || output >= b->outputs) return say(Severity::error, row, "board '" + board + "' has no output " + std::to_string(output), "Give 0 to " + std::to_string(b->outputs - 1) + "."), false;
    if (!taken_.insert({board, output}).second) return say(Severity::error, row, "output " + std::to_string(output) + " of board '" + board + "' is taken by another servo", "Give each its own."), false;
    return true;
  }

  // The first output that nobody has, on its own board or the first with room. boards() made enough of them, except of those with names.
  void place(std::size_t index) {
    Actuator& a = rig_.actuators[index];
    for (const Board& b : rig_.boards) {
      if (!a.board.empty() && b.name != a.board) continue;
      for (int output = 0; output < b.outputs; ++output) {
        if (!taken_.insert({b.name, output}).second) continue;
        a.board = b.name, a.output = output;
        return;
      }
    }
    HeadRow row;
    row.name = a.name;
    say(Severity::error, row, "no output is left for it", "Add a board, or name one in the column board.");
    a.board = a.board.empty() ? rig_.boards.front().name : a.board;
  }

  void kind(const ServoSheet& sheet) {
    if (std::none_of(rig_.servos.begin(), rig_.servos.end(), [&](const ServoKind& k) { return k.name == sheet.name; })) rig_.servos.push_back(kind_of(sheet));
  }

  void part(const HeadRow& row, Role role) {
    if (!parts_.emplace(role, rig_.actuators.size()).second)
      say(Severity::warning, row, "two servos move '" + std::string(name(role)) + "': this one gets a control of its own", "Name the role of each in the column role.");
  }

  void groups() {
    for (const char* usual : {"brows", "lids", "eyes", "nose", "cheeks", "mouth", "jaw", "neck"}) group(usual);
    for (const Actuator& a : rig_.actuators) group(a.group);
    for (Actuator& a : rig_.actuators) a.rail = a.board + " servos";
  }
  void group(const std::string& name) {
    const auto used = [&](const Actuator& a) { return a.group == name; };
    const auto there = [&](const Group& g) { return g.name == name; };
    if (std::any_of(rig_.actuators.begin(), rig_.actuators.end(), used) && std::none_of(rig_.groups.begin(), rig_.groups.end(), there)) rig_.groups.push_back({name});
  }

  const Head& head_;
  const std::string& file_;
  Rig rig_;
  Findings notes_;
  Parts parts_;
  std::set<std::string> names_;
  std::set<std::pair<std::string, int>> taken_;
  std::vector<bool> told_output_;
};

}  // namespace

Suggested suggest_rig(const Head& head, const std::string& file) { return Making(head, file).run(); }

}  // namespace mien::show
