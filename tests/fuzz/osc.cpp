// Datagrams of OSC: what a head may be told, in steps: each is a packet, its code the milliseconds before it.
#include <cmath>

#include "fuzz/text.hpp"
#include "live/hand_rig.hpp"
#include "live/osc_ear.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  using fuzz::demand;
  static const auto inlet = std::make_unique<live::Inlet>();
  std::vector<std::string> addresses;
  live::know_controls(*live::hand_rig(), addresses);
  addresses.push_back("/desk/fader/1");
  live::OscEar ear(*inlet, 0);
  ear.know(addresses);
  fuzz::Script script(data, size);
  std::int64_t now = 1'800'000'000'000'000'000;
  std::vector<live::OscMessage> messages, one;
  for (fuzz::Step step; script.next(step);) {
    now += step.code * 1'000'000;
    if (live::read_osc(step.bytes, messages)) {
      demand(messages.size() <= live::kMostOscMessages, "a packet has no more messages than it may");
      for (const auto& m : messages) {
        demand(m.address.starts_with('/') && m.bytes.data() >= step.bytes.data() && m.bytes.data() + m.bytes.size() <= step.bytes.data() + step.bytes.size(), "a message lies in its packet");
        demand(live::read_osc(m.bytes, one) && one.size() == 1 && one[0].address == m.address && one[0].count == m.count, "and is a packet of its own");
      }
    }
    ear.hear(step.bytes, {live::kLoopback, 9}, now, now);
    ear.catch_up(now, now);
    inlet->drain([&](const live::Touch& t) {
      demand(t.kind == live::Touch::Kind::osc || t.kind == live::Touch::Kind::let_go, "OSC makes touches of its own kinds alone");
      demand(t.number < addresses.size() || t.number == live::kEveryAddress, "of addresses that are known");
      demand(std::isfinite(t.value), "with values that are numbers");
    });
    for (const auto& order : ear.take_orders()) demand(order.time >= show::Time{0} && order.what <= live::NetworkOrder::Kind::cue, "an order is one of few");
    demand(ear.take_askers().size() <= 64, "askers are few");
  }
  return 0;
}
