// The part of the studio that runs the workbench.
#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "editor/studio.hpp"
#include "perform/rig_check.hpp"
#include "show/commissioning.hpp"

namespace mien::editor {

std::optional<RailReading> reading_of(const link::Status& link, const show::Rig& rig, const show::Actuator& actuator) {
  const auto told = std::find_if(link.boards.begin(), link.boards.end(), [&](const link::BoardStatus& b) { return b.name == actuator.board; });
  const auto board = std::find_if(rig.boards.begin(), rig.boards.end(), [&](const show::Board& b) { return b.name == actuator.board; });
  if (told == link.boards.end() || !told->answering || board == rig.boards.end()) return {};
  for (std::size_t r = 0; r < board->rails.size() && r < told->rails.size(); ++r)
    if (board->rails[r].name == actuator.rail) return RailReading{told->rails[r].voltage_v, told->rails[r].current_a};
  return {};
}

perform::Contact contact_of(const link::Status& link, const show::Actuator& actuator, bool performing) noexcept {
  using link::State;
  const auto board = std::find_if(link.boards.begin(), link.boards.end(), [&](const link::BoardStatus& b) { return b.name == actuator.board; });
  if (board != link.boards.end() && !board->answering && link.state == State::armed) return perform::Contact::lost;
  switch (link.state) {
    case State::armed: return performing ? perform::Contact::armed : perform::Contact::silent;
    case State::ready:
    case State::arming:
    case State::disarming: return perform::Contact::silent;
    default: return perform::Contact::lost;
  }
}

void Studio::open_bench() {
  if (live() || document_.rig().actuators.empty()) return;
  document_.take_back();
  stage_.stop_playing();
  stage_.set_loop({});
  lay_on_bench(0);
  journal_.line("bench");
}

// Precondition: outputs are silent, for frames of the new rig mean other outputs than those of the old one.
void Studio::lay_on_bench(int actuator) {
  const show::Rig& rig = document_.rig();
  actuator = std::clamp(actuator, 0, static_cast<int>(rig.actuators.size()) - 1);
  bench_ = Workbench{actuator, std::make_shared<const show::Rig>(perform::bench_rig(rig, actuator)), perform::Bench(rig, actuator), show::table_of(rig, actuator), {}, false};
  panels_.bench = {};
  told_rig_ = nullptr;
  // Hands play faces; here one servo moves as far as it is told, and nothing else tells it.
  stop_recording();
  hands_.learning.clear();
  stage_.set_hands({});
  stage_.set_rig(*bench_->rig);
  show_on_bench();
  journal_.line("bench actuator " + rig.actuators[static_cast<std::size_t>(actuator)].name);
}

void Studio::leave_bench() {
  bench_.reset();
  tell_stage();
  stage_.set_hands(hands_.map);
  journal_.line("bench left");
}

void Studio::show_on_bench() { stage_.publish(bench_->rig, perform::bench_show(bench_->bench.setpoint_deg())); }

void Studio::follow_bench() {
  if (!bench_) return;
  if (bench_->leaving || bench_->next) {
    if (live()) return;
    return bench_->leaving ? leave_bench() : lay_on_bench(*bench_->next);
  }
  const show::Actuator& actuator = bench_->rig->actuators.front();
  perform::Bench& bench = bench_->bench;
  const double before = bench.setpoint_deg();
  const bool travelling = bench.doing() == perform::Doing::travelling;
  perform::Seen seen{static_cast<double>(ImGui::GetIO().DeltaTime), contact_of(link_, actuator, report_.mode != perform::Mode::rehearse), report_.setpoint_deg[0], {}};
  if (const auto reading = reading_of(link_, *bench_->rig, actuator)) seen.current_a = reading->current_a;
  const perform::Doing doing = bench.doing();
  if (bench.tick(seen)) stop_now();
  if (bench.setpoint_deg() != before) show_on_bench();
  if (bench.doing() != doing && bench.halted() == perform::Halt::current) journal_.line("bench halt current");
  if (bench.doing() != doing && bench.halted() == perform::Halt::link) journal_.line("bench halt link");
  if (travelling && !bench.moving() && bench.travelled()) change_rig("Commission " + actuator.name, show::with_commissioned(document_.rig(), bench_->actuator, true));
}

void Studio::change_rig(const std::string& name, const show::Result<show::Rig>& rig) {
  if (!rig) return refuse(rig.problem());
  for (const show::Finding& finding : perform::check_rig(*rig, ""))
    if (finding.severity == show::Severity::error) return refuse(finding);
  const std::string done = document_.commit_rig(name, *rig);
  if (done.empty()) return;
  journal_.line("edit " + done);
  after_edit();
}

void Studio::apply_one(const Work& c) {
  if (!bench_) return;
  perform::Bench& bench = bench_->bench;
  const show::Rig& rig = document_.rig();
  const int index = bench_->actuator;
  const show::Actuator& actuator = rig.actuators[static_cast<std::size_t>(index)];
  const auto mark = [&](show::Mark where, const char* word) {
    if (bench.doing() == perform::Doing::holding) change_rig("Set " + std::string(word) + " of " + actuator.name, show::marked(rig, index, where, bench.setpoint_deg()));
  };
  const auto silent_first = [&] { if (live()) stop_now(); };
  switch (c.what) {
    case Work::Do::choose: silent_first(), bench_->next = c.index; break;
    case Work::Do::leave: silent_first(), bench_->leaving = true; break;
    case Work::Do::jog: bench.jog(c.value); break;
    case Work::Do::identify: bench.identify(); break;
    case Work::Do::travel:
      if (bench.travel(actuator.min_deg, actuator.max_deg, actuator.rest_deg)) journal_.line("bench travel");
      else refuse({show::Severity::note, "", "actuator '" + actuator.name + "'", "the travel test goes from minimum to maximum, and they lie outside the guard band",
                   "Find both ends first: jog to each, widen the band where you must, and set it"});
      break;
    case Work::Do::halt: bench.halt(); break;
    case Work::Do::widen: bench.widen(static_cast<int>(c.value)); break;
    case Work::Do::minimum: mark(show::Mark::minimum, "minimum"); break;
    case Work::Do::rest: mark(show::Mark::rest, "rest"); break;
    case Work::Do::maximum: mark(show::Mark::maximum, "maximum"); break;
    case Work::Do::turn_round: if (!live()) change_rig("Reverse " + actuator.name, show::turned_round(rig, index)); break;
    case Work::Do::anew:
      change_rig("Find the ends of " + actuator.name + " anew", show::with_commissioned(rig, index, false));
      apply_one(Work{Work::Do::choose, 0, index});
      break;
    case Work::Do::add_row:
      if (std::isfinite(c.value)) bench_->rows.push_back({c.value, std::round(bench.setpoint_deg() * 100) / 100});
      break;
    case Work::Do::drop_row:
      if (c.index >= 0 && static_cast<std::size_t>(c.index) < bench_->rows.size()) bench_->rows.erase(bench_->rows.begin() + c.index);
      break;
    case Work::Do::use_table: change_rig("Measured table of " + actuator.name, show::with_table(rig, index, bench_->rows)); break;
    case Work::Do::most_current: bench.set_most_current(c.value); break;
  }
}

}  // namespace mien::editor
