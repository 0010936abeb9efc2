// A host and a chain of boards on cables that take their time, with clocks that differ; in time that the test makes.
#pragma once
#include <random>

#include "link/conversation.hpp"
#include "link/desk.hpp"
#include "link/helpers.hpp"

namespace mien::link::test_chain {

using test::pulse_at;
constexpr std::int64_t kMs = 1'000'000, kUs = 1000;

inline show::Rig chain_rig(int boards) {
  auto rig = test::small_rig();
  const auto one = rig.actuators[1];
  rig.boards.clear(), rig.actuators.clear();
  for (int n = 0; n < boards; ++n) {
    rig.boards.push_back({"b" + std::to_string(n), n, 16, {}});
    rig.actuators.push_back(one);
    rig.actuators.back().name = "a" + std::to_string(n);
    rig.actuators.back().board = rig.boards.back().name;
  }
  return rig;
}

inline std::vector<DeskBoard> by_position(int boards) {
  std::vector<DeskBoard> all(static_cast<std::size_t>(boards));
  std::mt19937 random(11);
  for (auto& each : all) each.address = wire::kNoAddress, each.fast_ppm = -50 + static_cast<double>(random() % 101);
  return all;
}

struct Chain {
  show::Rig rig;
  std::int64_t now = 1000 * kMs;
  Desk desk;
  Conversation host;
  std::uint32_t sequence = 0, joins = 0;
  std::mt19937 random{5};
  std::int64_t jitter_ns = 0, slice_ns = kMs;

  explicit Chain(int boards, std::int64_t byte_ns = 10 * kUs, std::int64_t step_ns = 500 * kUs)
      : rig(chain_rig(boards)), desk(by_position(boards), now, nullptr, {byte_ns, step_ns}), host(rig) {
    host.begin(now);
  }
  /// The host wakes once a slice; now and then it sleeps up to jitter_ns between looking at its clock and writing.
  void run(int ms) {
    for (const auto end = now + ms * kMs; now < end;) {
      desk.advance(now += slice_ns);
      auto& in = desk.answers();
      host.receive(in, now);
      in.clear();
      host.step(now);
      if (host.outbox().empty()) continue;
      if (jitter_ns && random() % 2 == 0) desk.advance(now += static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(jitter_ns)));
      while (!host.outbox().empty()) {
        const auto front = host.outbox().front();
        desk.receive(front);
        host.outbox().wrote(front.size());
      }
    }
  }
  bool arm(int within_ms = 3000) {
    for (int i = 0; i < within_ms && !host.configured(); ++i) run(1);
    run(500);
    host.set_goal(Goal::arm, now);
    for (int i = 0; i < within_ms && !host.armed(); ++i) run(1);
    return host.armed();
  }
  void frame(double deg) {
    Frame f;
    f.sequence = ++sequence, f.latch_ns = now + 20 * kMs, f.joins = joins;
    f.count = static_cast<int>(rig.actuators.size());
    for (int i = 0; i < f.count; ++i) f.pulse[static_cast<std::size_t>(i)] = pulse_at(rig, static_cast<std::size_t>(i), deg);
    host.send(f);
  }
  void perform(double deg, int ms) {
    for (int i = 0; i < ms; i += 10) {
      frame(deg);
      run(10);
      if (host.take_rejoined()) host.joined(++joins);
    }
  }
  Status status() {
    Status s;
    host.describe(s, now);
    return s;
  }
};

}  // namespace mien::link::test_chain
