#include "perform/tick.hpp"

namespace mien::perform {
namespace {

void read_curves(const Plan& plan, Head& head, show::Time t, Tick& out) noexcept {
  for (std::size_t c = 0; c < plan.control_rest.size(); ++c) {
    const double value = head.cursors[c].at(t);
    const double low = plan.control_min[c], high = plan.control_max[c];
    out.control[c] = value < low ? low : value > high ? high : value;
  }
}

void map_to_actuators(const Plan& plan, Tick& out) noexcept {
  for (std::size_t a = 0; a < plan.rest_deg.size(); ++a) {
    double angle = plan.offset_deg[a];
    for (int n = plan.first_term[a]; n < plan.first_term[a + 1]; ++n) {
      const auto& term = plan.terms[static_cast<std::size_t>(n)];
      angle += term.weight * out.control[static_cast<std::size_t>(term.control)];
    }
    out.target_deg[a] = angle;
  }
}

}  // namespace

void aim(const Plan& plan, Head& head, show::Time t, Tick& out) noexcept {
  out.time = t;
  read_curves(plan, head, t, out);
  map_to_actuators(plan, out);
}

void tick(const Plan& plan, Head& head, show::Time t, double velocity_share, Tick& out) noexcept {
  aim(plan, head, t, out);
  motion::step(head.limiter, plan.limits, out.target_deg, velocity_share);
  for (std::size_t a = 0; a < plan.rest_deg.size(); ++a) out.setpoint_deg[a] = head.limiter.position_deg[a];
}

void load(Head& head, const Plan& plan) noexcept {
  for (std::size_t c = 0; c < plan.channel_of.size(); ++c)
    head.cursors[c] = motion::Cursor(plan.channel_of[c], plan.shapes.get(), plan.control_rest[c]);
}

void stand_at(Head& head, const Plan& plan, show::Time t) noexcept {
  load(head, plan);
  Tick at;
  aim(plan, head, t, at);
  for (int a = 0; a < plan.actuators(); ++a) {
    const auto i = static_cast<std::size_t>(a);
    motion::seed(head.limiter, plan.limits, a, at.target_deg[i], 0, plan.rest_deg[i]);
  }
}

}  // namespace mien::perform
