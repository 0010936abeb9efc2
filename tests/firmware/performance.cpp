#include "firmware/performance.hpp"

#include <algorithm>
#include <cmath>
#include <deque>
#include <map>
#include <random>
#include <stdexcept>

#include "link/conversation.hpp"
#include "perform/render.hpp"

namespace mien::firmware {
namespace {

constexpr double kStep_us = 1'000, kCreep_us = 1'500'000;
constexpr double kEdge_us = 60;       // about the line of kLead_us either of two setpoints is right: boards may be this much apart
constexpr double kPeriod_us = 20'000;

std::vector<std::string> words_for(std::size_t boards) {
  std::string ppm = "0", delay = "0";
  for (std::size_t n = 1; n < boards; ++n) {
    ppm += n % 2 == 1 ? ",40" : ",-40";
    delay += "," + std::to_string(n * 7'123);
  }
  return {"--boards", std::to_string(boards), "--ppm", ppm, "--delay-us", delay};
}

using Setpoints = std::array<std::uint16_t, show::kMaxActuators>;
struct Sent {
  double latch_us;
  Setpoints pulse;
};

/// The host: a conversation whose clock is the desk's.
class Host {
 public:
  explicit Host(const perform::Plan& plan) : plan_(plan), bench_(words_for(plan.rig->boards.size())), conversation_(*plan.rig) {
    bench_.run(50'000);
    conversation_.begin(now_ns());
  }

  Performance perform(double seconds, double jitter_us) {
    wait_for([&] { return conversation_.configured(); }, "the boards were not found and configured");
    wait_for([wait_until_us = bench_.now_us() + 1'000'000, this] { return bench_.now_us() >= wait_until_us; }, "");  // clocks get known
    conversation_.set_goal(link::Goal::arm, now_ns());
    wait_for([&] { return conversation_.armed(); }, "the boards could not be armed");
    plan_frames(seconds);
    std::mt19937 random(5);
    std::uniform_real_distribution<double> jitter(0, jitter_us);
    const double lead_us = plan_.rig->latch_lead_ms * 1000;
    for (const Sent& sent : sent_) {
      const double at_us = sent.latch_us - lead_us + jitter(random);
      while (bench_.now_us() < at_us) advance(std::min(kStep_us, at_us - bench_.now_us()));
      link::Frame frame;
      frame.sequence = ++sequence_;
      frame.latch_ns = static_cast<std::int64_t>(sent.latch_us * 1000);
      frame.count = plan_.actuators();
      frame.pulse = sent.pulse;
      conversation_.send(frame);
      advance(0);
    }
    const double end_us = sent_.back().latch_us;
    while (bench_.now_us() < end_us + 30'000) advance(kStep_us);
    return measure(end_us);
  }

 private:
  std::int64_t now_ns() const { return static_cast<std::int64_t>(bench_.now_us() * 1000); }

  void advance(double us) {
    auto& outbox = conversation_.outbox();
    while (!outbox.empty()) {
      const auto bytes = outbox.front();
      bench_.send_bytes({bytes.begin(), bytes.end()});
      outbox.wrote(bytes.size());
    }
    if (us <= 0) return;
    Events events = bench_.run(us);
    for (const Heard& heard : events.heard) conversation_.receive(heard.bytes, static_cast<std::int64_t>(heard.at_us * 1000));
    pulses_.insert(pulses_.end(), events.pulses.begin(), events.pulses.end());
    conversation_.step(now_ns());
  }

  template <class Done>
  void wait_for(Done done, const char* what) {
    for (const double until_us = bench_.now_us() + 10e6; !done(); advance(kStep_us)) {
      if (bench_.now_us() < until_us) continue;
      const auto why = conversation_.trouble(now_ns());
      throw std::runtime_error(std::string(what) + (why ? ": " + why->what : ""));
    }
  }

  /// From where the servos are to the first pose, then the show; latching at whole ticks, 5 ms away from where pulses start.
  void plan_frames(double seconds) {
    const Setpoints from = conversation_.pulses();
    std::vector<Setpoints> show;
    perform::render(plan_, show::Time{0}, [&](const perform::Tick& tick) {
      Setpoints pulse{};
      for (int a = 0; a < plan_.actuators(); ++a) pulse[static_cast<std::size_t>(a)] = perform::pulse_of(plan_, a, tick.setpoint_deg[static_cast<std::size_t>(a)]);
      show.push_back(pulse);
      return show::to_seconds(tick.time) < seconds;
    });
    double latch_us = (std::floor(bench_.now_us() / kTick_us) + 6) * kTick_us + 5'000;
    for (double at_us = 0; at_us < kCreep_us; at_us += kTick_us, latch_us += kTick_us) {
      Setpoints pulse{};
      for (std::size_t a = 0; a < pulse.size(); ++a)
        pulse[a] = static_cast<std::uint16_t>(std::lround(from[a] + (show[0][a] - from[a]) * at_us / kCreep_us));
      sent_.push_back({latch_us, pulse});
    }
    began_us_ = latch_us;
    for (const Setpoints& pulse : show) sent_.push_back({latch_us, pulse}), latch_us += kTick_us;
  }

  double error_us(std::size_t actuator, const Pulse& p) const {
    const double line_us = p.rise_us - kLead_us;
    const auto error = [&](const Sent& s) { return std::abs(p.width_us - s.pulse[actuator] / double(wire::kUnitsPerUs)); };
    auto after = std::upper_bound(sent_.begin(), sent_.end(), line_us - kEdge_us, [](double t, const Sent& s) { return t < s.latch_us; });
    double least = after == sent_.begin() ? 1e9 : error(after[-1]);
    for (; after != sent_.end() && after->latch_us <= line_us + kEdge_us; ++after) least = std::min(least, error(*after));
    return least;
  }

  Performance measure(double end_us) {
    Performance p;
    p.boards = static_cast<int>(plan_.rig->boards.size());
    p.began_us = began_us_;
    std::map<std::pair<int, int>, int> actuator_at;
    for (std::size_t a = 0; a < plan_.rig->actuators.size(); ++a)
      for (std::size_t b = 0; b < plan_.rig->boards.size(); ++b)
        if (plan_.rig->boards[b].name == plan_.rig->actuators[a].board)
          actuator_at[{plan_.rig->boards[b].address, plan_.rig->actuators[a].output}] = static_cast<int>(a);
    std::map<int, std::vector<double>> starts;                    // by board
    std::map<std::int64_t, std::pair<double, double>> together;  // by period: first and last start
    for (const Pulse& pulse : pulses_) {
      if (pulse.rise_us < began_us_ + kPeriod_us || pulse.rise_us > end_us) continue;
      const auto found = actuator_at.find({pulse.board, pulse.output});
      if (found == actuator_at.end()) throw std::runtime_error("a pulse on an output that no actuator has");
      const double off_us = std::remainder(pulse.rise_us, kPeriod_us);
      const double error = error_us(static_cast<std::size_t>(found->second), pulse);
      p.pulses.push_back({found->second, pulse.rise_us, pulse.width_us, error, off_us});
      p.worst_error_us = std::max(p.worst_error_us, error);
      starts[pulse.board].push_back(off_us);
      const auto [entry, first] = together.try_emplace(std::llround(pulse.rise_us / kPeriod_us), pulse.rise_us, pulse.rise_us);
      entry->second = {std::min(entry->second.first, pulse.rise_us), std::max(entry->second.second, pulse.rise_us)};
    }
    for (const auto& [period, span] : together) p.skew_us = std::max(p.skew_us, span.second - span.first);
    std::vector<double> apart;
    for (const auto& [board, all] : starts) {
      double mean = 0;
      for (const double s : all) mean += s / static_cast<double>(all.size());
      for (const double s : all) apart.push_back(std::abs(s - mean));
    }
    std::sort(apart.begin(), apart.end());
    if (!apart.empty()) p.jitter_p99_us = apart[apart.size() * 99 / 100];
    p.hop_us = bench_.hops().median_us;
    return p;
  }

  const perform::Plan& plan_;
  Bench bench_;
  link::Conversation conversation_;
  std::vector<Sent> sent_;
  std::vector<Pulse> pulses_;
  std::uint32_t sequence_ = 0;
  double began_us_ = 0;
};

}  // namespace

Performance perform(const perform::Plan& plan, double seconds, double jitter_us) { return Host(plan).perform(seconds, jitter_us); }

}  // namespace mien::firmware
