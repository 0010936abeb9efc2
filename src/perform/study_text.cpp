// A shortfall in the maker's words.
#include <cmath>
#include <string>

#include "perform/study.hpp"
#include "perform/sync.hpp"
#include "show/text.hpp"

namespace mien::perform {
namespace {

std::string deg(double value) {
  const double parts = std::abs(value) < 9.95 ? 10 : 1;
  return show::number_text(std::round(std::abs(value) * parts) / parts) + " deg";
}
std::string ms_text(double value) { return show::number_text(std::round(std::abs(value))) + " ms"; }
std::string ms_text(show::Time t) { return ms_text(show::to_seconds(t) * 1e3); }

std::string ticks(const Plan& plan, double late_ms) {
  const int n = std::max(1, static_cast<int>(std::ceil(late_ms / (show::to_seconds(plan.tick) * 1e3) - 1e-6)));
  return std::to_string(n) + (n == 1 ? " tick" : " ticks");
}

std::string the_move(const Shortfall& s) {
  return s.given.count() == 0 ? "jump " + deg(s.move_deg) : "move " + deg(s.move_deg) + " in " + ms_text(s.given);
}

std::string what_late(const Shortfall& s) {
  if (s.control < 0) return "is " + deg(s.off_deg) + " off for " + ms_text(s.late_ms);
  if (s.past) return "can't stop so abruptly after " + deg(s.move_deg) + " in " + ms_text(s.given) + ": it runs " + deg(s.off_deg) + " past and settles " + ms_text(s.late_ms) + " late";
  if (s.short_deg > 0) return "can't " + the_move(s) + ": it turns back " + deg(s.short_deg) + " short";
  if (s.late_ms > 0) return "can't " + the_move(s) + ": it arrives " + ms_text(s.late_ms) + " late";
  return "falls " + deg(s.off_deg) + " behind on its way over " + deg(s.move_deg) + " in " + ms_text(s.given);
}

std::string cure_late(const Plan& plan, const Shortfall& s) {
  if (s.control < 0) return s.layer < 0 ? "Ask for less at once" : "Give the layer less weight there, or bake it down and mend the keys";
  if (s.past) return "Ease the end of the move, or start it earlier?";
  if (s.short_deg > 0) return "Start the move earlier, or reach less far?";
  if (s.late_ms > 0) return "Start the move " + ticks(plan, s.late_ms) + " earlier?";
  return "Ease the start of the move, or start it earlier?";
}

std::string what_clipped(const Plan& plan, const Shortfall& s) {
  const auto& actuator = plan.rig->actuators[static_cast<std::size_t>(s.actuator)];
  return "is asked for " + deg(s.off_deg) + " beyond its travel of " + show::number_text(actuator.min_deg) + " to " + show::number_text(actuator.max_deg) + " deg";
}

std::string what_out_of_sync(const Shortfall& s) {
  const bool refused = s.late_ms > kRefusedEarly_ms || s.late_ms < -kRefusedLate_ms;
  return "closes " + ms_text(s.late_ms) + (s.late_ms > 0 ? " after" : " before") + " its sound: " +
         (refused ? "more than viewers accept" : "viewers notice") + " (ITU-R BT.1359)";
}

}  // namespace

const char* name(Cause cause) noexcept {
  switch (cause) {
    case Cause::late: return "late";
    case Cause::clipped: return "clipped";
    case Cause::braked: return "braked for a constraint";
    case Cause::governed: return "governed";
    case Cause::out_of_sync: break;
  }
  return "out of sync";
}

std::string size_text(const Shortfall& s) {
  if (s.cause == Cause::clipped) return deg(s.off_deg) + " beyond its travel";
  if (s.cause == Cause::out_of_sync) return ms_text(s.late_ms) + (s.late_ms > 0 ? " after its sound" : " before its sound");
  if (s.past) return "runs " + deg(s.off_deg) + " past";
  if (s.short_deg > 0) return deg(s.short_deg) + " short";
  if (s.late_ms > 0 && s.control >= 0) return ms_text(s.late_ms) + " late";
  return deg(s.off_deg) + " behind";
}

show::Finding finding_of(const Plan& plan, const Shortfall& s, const std::string& file) {
  const std::string actuator = "'" + plan.rig->actuators[static_cast<std::size_t>(s.actuator)].name + "' ";
  const bool by_layer = s.control < 0 && s.layer >= 0 && static_cast<std::size_t>(s.layer) < plan.show->layers.size();
  const std::string channel = by_layer        ? "layer '" + plan.show->layers[static_cast<std::size_t>(s.layer)]->name + "', "
                              : s.control < 0 ? ""
                                              : "channel '" + plan.rig->controls[static_cast<std::size_t>(s.control)].name + "', ";
  show::Finding finding{show::Severity::warning, file, channel + show::seconds_text(s.key) + " s", "", ""};
  switch (s.cause) {
    case Cause::clipped:
      finding.what = actuator + what_clipped(plan, s);
      finding.cure = "Reach less far, or widen the travel in the rig if the linkage allows it";
      break;
    case Cause::out_of_sync:
      finding.what = actuator + what_out_of_sync(s);
      finding.cure = s.late_ms > 0 ? "Start the closure earlier, or enter servo_response_ms and link_latency_ms in the rig" : "Check servo_response_ms and link_latency_ms in the rig";
      break;
    case Cause::braked:
      finding.what = actuator + what_late(s) + ", braked for a constraint";
      finding.cure = "Move what is in its way out first?";
      break;
    case Cause::governed:
      finding.what = actuator + what_late(s) + ", slowed to spare its rail";
      finding.cure = "Move fewer servos of the rail at once?";
      break;
    case Cause::late:
      finding.what = actuator + what_late(s);
      finding.cure = cure_late(plan, s);
  }
  return finding;
}

}  // namespace mien::perform
