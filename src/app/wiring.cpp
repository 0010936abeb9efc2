#include "app/wiring.hpp"

#include <algorithm>
#include <cmath>
#include <variant>
#include <vector>

#include "app/text.hpp"
#include "motion/servo.hpp"
#include "perform/inputs.hpp"
#include "perform/power.hpp"

namespace mien::app {
namespace {

constexpr const char* kHead =
    "<style>\n"
    "body{font:11pt/1.35 sans-serif;color:#000;background:#fff;margin:12mm}\n"
    "h1{font-size:18pt;margin:0 0 4mm}h2{font-size:14pt;margin:8mm 0 2mm;break-after:avoid}h3{font-size:11pt;margin:4mm 0 1mm;break-after:avoid}\n"
    "table{border-collapse:collapse;width:100%;font-size:9pt;font-variant-numeric:tabular-nums}\n"
    "th,td{border:1px solid #000;padding:1mm 1.5mm;text-align:left;vertical-align:top}thead{display:table-header-group}tr{break-inside:avoid}\n"
    ".cautions{border:2px solid #000;padding:1mm 4mm;break-inside:avoid}.cautions li{margin:1mm 0}\n"
    "section{break-before:page}section.first{break-before:auto}\n"
    "@page{size:A4 landscape;margin:10mm}@media print{body{margin:0}}\n"
    "</style>\n";

constexpr const char* kCautions =
    "<div class=\"cautions\">\n<h2>Before you wire anything</h2>\n<ul>\n"
    "<li><strong>Pinch.</strong> A head starts to move when you don't expect it. Keep fingers, hair and tools out of mouth, lids and linkages "
    "whenever a supply is on; take the horns off for the first power-on.</li>\n"
    "<li><strong>Heat.</strong> A stalled servo gets hot enough to burn skin and to soften printed parts.</li>\n"
    "<li><strong>High currents.</strong> The figures below are the worst case, every servo stalled, from data sheets: measure before you trust a "
    "supply. Run supplies, connectors and fuses at no more than 80 % of their rating (common practice).</li>\n"
    "<li><strong>Fuse.</strong> One for every rail, in the positive lead, at the supply and not at the board: it protects the wire between them. "
    "A switch ahead of the fuses, in reach of your hand, ends everything.</li>\n"
    "<li><strong>Ground.</strong> The negative leads of all supplies, all boards and the computer's link meet: one common ground. Connect it "
    "first and disconnect it last.</li>\n"
    "<li><strong>Never from USB.</strong> Servos are fed by their rail alone; a board's USB or logic supply never feeds a servo.</li>\n"
    "<li><strong>Batteries.</strong> A short circuit of a pack can start a fire. Fuse it at the pack, charge it with its own charger, never "
    "unattended, and follow its data sheet.</li>\n"
    "<li><strong>Mains.</strong> Use a closed, approved supply. Work on mains wiring is for someone licensed to do it, and your local electrical "
    "codes come before anything on this sheet.</li>\n"
    "</ul>\n</div>\n";

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) switch (c) {
    case '&': out += "&amp;"; break;
    case '<': out += "&lt;"; break;
    case '>': out += "&gt;"; break;
    case '"': out += "&quot;"; break;
    case '\'': out += "&#39;"; break;
    default: out += c;
  }
  return out;
}

std::string given(double value, const char* unit) { return value > 0 ? number(value) + unit : std::string("not told"); }

/// Rows of cells, the first the headings; escapes every cell.
std::string html(const Table& table, const char* kind) {
  std::string out = std::string("<table class=\"") + kind + "\">\n";
  for (std::size_t r = 0; r < table.size(); ++r) {
    const std::string tag = r == 0 ? "th" : "td";
    out += r == 0 ? "<thead><tr>" : "<tr>";
    for (const std::string& cell : table[r]) out += "<" + tag + ">" + escaped(cell) + "</" + tag + ">";
    out += r == 0 ? "</tr></thead>\n<tbody>\n" : "</tr>\n";
  }
  return out + "</tbody>\n</table>\n";
}

std::string wire_text(const show::Rail& rail) {
  if (!rail.wire) return "not told";
  const double area = perform::feed_of(rail).wire.area_mm2;
  return (rail.wire->awg ? "AWG " + std::to_string(rail.wire->awg) + " (" + rounded(area) + " mm\u00b2)" : number(area) + " mm\u00b2") + ", " +
         number(rail.wire->length_m) + " m one way";
}

struct Sheet {
  const show::Rig& rig;

  double stall_a(const show::Actuator& a) const { return motion::figures_of(rig, a).stall_current_a; }

  motion::Load load_of(const show::Board& board, const std::string& rail) const {
    motion::Load load;
    for (const show::Actuator& a : rig.actuators)
      if (a.board == board.name && a.rail == rail) ++load.actuators, load.stall_a += stall_a(a), load.stuck_a = std::max(load.stuck_a, stall_a(a));
    return load;
  }

  static std::string verdict(const motion::Feed& feed, const motion::Load& load) {
    if (load.actuators == 0) return "feeds nothing";
    const show::Findings findings = motion::check(feed, load);
    if (findings.empty()) return "fine: " + rounded(load.stall_a) + " A is within " + rounded(motion::kContinuousShare * feed.supply_a) + " A, 80 % of the rating";
    std::string text;
    for (const show::Finding& f : findings) text += (text.empty() ? "LOOK: " : "; ") + f.what;
    return text + ".";
  }

  Table rails(const show::Board& board) const {
    Table t{{"rail", "voltage", "supply rating", "fuse, at the supply", "connector", "wire, each lead", "servos", "worst case, all stalled", "lost in the wire then", "verdict at 80 %"}};
    for (const show::Rail& rail : board.rails) {
      const motion::Feed feed = perform::feed_of(rail);
      const motion::Load load = load_of(board, rail.name);
      t.push_back({rail.name, given(rail.voltage_v, " V"), given(rail.rating_a, " A"), given(rail.fuse_a, " A"), given(rail.connector_a, " A"), wire_text(rail),
                   std::to_string(load.actuators), rounded(load.stall_a) + " A", feed.wire.area_mm2 > 0 ? rounded(motion::drop_v(feed.wire, load.stall_a)) + " V" : "unknown",
                   verdict(feed, load)});
    }
    return t;
  }

  Table outputs(const show::Board& board) const {
    Table t{{"output", "actuator", "group", "servo", "rail", "pulse range, \u00b5s", "rest, \u00b5s", "travel, deg", "rest, deg", "reversed", "worst case, stalled", "done"}};
    for (int output = 0; output < board.outputs; ++output) {
      const auto a = std::find_if(rig.actuators.begin(), rig.actuators.end(), [&](const show::Actuator& x) { return x.board == board.name && x.output == output; });
      if (a == rig.actuators.end()) {
        t.push_back({std::to_string(output), "", "", "spare: leave it open", "", "", "", "", "", "", "", ""});
        continue;
      }
      t.push_back({std::to_string(output), a->name, a->group, a->servo.empty() ? "not told: a usual micro servo" : a->servo, a->rail.empty() ? "none" : a->rail,
                   number(a->pulse_min_us) + " to " + number(a->pulse_max_us), rounded(show::pulse_us(*a, a->rest_deg), 10), number(a->min_deg) + " to " + number(a->max_deg),
                   number(a->rest_deg), a->reversed ? "yes" : "no", rounded(stall_a(*a)) + " A", "\u2610"});
    }
    return t;
  }

  Table inputs(const show::Board& board) const {
    Table t{{"line", "input", "acts at", "must stand for", "does at the computer", "done"}};
    for (const show::Input& i : rig.inputs)
      if (i.board == board.name) t.push_back({std::to_string(i.line), i.name, i.active_low ? "low: contact to ground" : "high", number(i.settle_ms) + " ms", perform::to_text(i.action), "\u2610"});
    return t;
  }

  /// Nothing for a board that has none.
  std::string input_section(const show::Board& board) const {
    const Table table = inputs(board);
    if (table.size() == 1) return "";
    return "<h3>Inputs</h3>\n" + html(table, "inputs") +
           "<p>No input is an emergency stop: between it and the servos stand a cable, a program and a computer. That is the switch ahead of the fuses.</p>\n";
  }

  static std::string drives(const show::Auxiliary& a) {
    struct Words {
      std::string operator()(const show::Switch&) const { return "a driver: on from the middle of its control's range up"; }
      std::string operator()(const show::Dimmer&) const { return "a driver: on for a share of the time; keep an audience from its slow flicker"; }
      std::string operator()(const show::Fan& f) const { return "a fan's driver: on while rail " + (f.rail.empty() ? std::string("current, as estimated,") : "'" + f.rail + "'") + " is above " + number(f.on_a) + " A"; }
      std::string operator()(const show::Code& c) const {
        return "a module's inputs, the lowest bit first" + (c.strobe < 0 ? std::string(", in Gray code") : "; strobe on line " + std::to_string(c.strobe)) + "; a line stands for " + number(c.settle_ms) + " ms";
      }
    };
    return std::visit(Words{}, a.kind);
  }

  /// Nothing for a board that has none.
  std::string auxiliary_section(const show::Board& board) const {
    Table t{{"line", "auxiliary", "drives", "control", "done"}};
    for (const show::Auxiliary& a : rig.auxiliaries) {
      if (a.board != board.name) continue;
      const auto* code = std::get_if<show::Code>(&a.kind);
      const std::string lines = std::to_string(a.line) + (code && code->lines > 1 ? " to " + std::to_string(a.line + code->lines - 1) : "");
      t.push_back({lines, a.name, drives(a), a.control.empty() ? "none: by the rail's heat" : a.control, "\u2610"});
    }
    if (t.size() == 1) return "";
    return "<h3>Auxiliary outputs</h3>\n" + html(t, "auxiliaries") +
           "<p>A line carries a signal of 3.3 V and a few milliamperes, no power: lamps, fans and relays want a driver with a supply and a fuse of their own, a coil or motor its flyback diode, and "
           "1 k\u03a9 in series in each line (common practice). What switches mains is for someone licensed to do it.</p>\n";
  }

  /// The one cable, from board to board in the order of the chain.
  std::string chain() const {
    if (rig.boards.empty()) return "";
    std::vector<const show::Board*> order;
    for (const show::Board& board : rig.boards) order.push_back(&board);
    std::ranges::sort(order, {}, &show::Board::address);
    Table t{{"from", "to", "wires", "done"}};
    t.push_back({"the computer", order.front()->name, "USB to the module's own socket; or, at 3.3 V: TX to GPIO 17, RX to GPIO 16, ground to ground", "\u2610"});
    for (std::size_t i = 1; i < order.size(); ++i) t.push_back({order[i - 1]->name, order[i]->name, "GPIO 20 to GPIO 17, GPIO 21 to GPIO 16, ground to ground", "\u2610"});
    return "<h2>The cable</h2>\n" + html(t, "cable") +
           "<p>Pins of an RP2040 with Mien's firmware; other boards by their own papers. No servo's current goes through this cable. Under about half a metre from board to board, away from servo leads "
           "(common practice at 1 Mbit/s).</p>\n";
  }

  double total_a(const show::Board& board) const {
    double sum = 0;
    for (const show::Actuator& a : rig.actuators)
      if (a.board == board.name) sum += stall_a(a);
    return sum;
  }

  std::string section(const show::Board& board, bool first) const {
    const auto used = std::count_if(rig.actuators.begin(), rig.actuators.end(), [&](const show::Actuator& a) { return a.board == board.name; });
    return std::string("<section") + (first ? " class=\"first\"" : "") + ">\n<h2>Board " + escaped(board.name) + "</h2>\n<p>Address " + std::to_string(board.address) +
           (board.address == 0 ? " (on the cable)" : " (number " + std::to_string(board.address) + " down the chain)") +
           ". Identity: " + (board.identity.empty() ? "not told; as the board says it: ____________________" : escaped(board.identity)) + ". " + std::to_string(used) + " of " + std::to_string(board.outputs) + " outputs used; worst case " +
           rounded(total_a(board)) + " A.</p>\n<h3>Rails</h3>\n" + (board.rails.empty() ? "<p>None told: enter them in the rig, with their ratings.</p>\n" : html(rails(board), "rails")) +
           "<h3>Outputs</h3>\n" + html(outputs(board), "outputs") + auxiliary_section(board) + input_section(board) + "</section>\n";
  }
};

}  // namespace

std::string wiring_sheet(const show::Rig& rig) {
  const Sheet sheet{rig};
  const std::string title = "Wiring of " + (rig.name.empty() ? std::string("a head") : rig.name);
  std::string out = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>" + escaped(title) + "</title>\n" + kHead + "</head>\n<body>\n<h1>" + escaped(title) +
                    "</h1>\n" + kCautions;
  double total = 0;
  for (const show::Board& board : rig.boards) total += sheet.total_a(board);
  out += "<p>" + std::to_string(rig.boards.size()) + " boards, " + std::to_string(rig.actuators.size()) + " actuators; worst case of the whole head " + rounded(total) + " A.</p>\n" + sheet.chain();
  for (const show::Board& board : rig.boards) out += sheet.section(board, &board == &rig.boards.front());
  return out + "</body>\n</html>\n";
}

}  // namespace mien::app
