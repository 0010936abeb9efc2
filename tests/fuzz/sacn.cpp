// Datagrams of sACN, in steps: each is a packet (in two steps where it is longer than 255 bytes: the first has an odd code), its code tens of milliseconds before it.
#include "fuzz/text.hpp"
#include "live/sacn.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  using fuzz::demand;
  static const auto inlet = std::make_unique<live::Inlet>();
  live::SacnEar ear(*inlet, 0, 1);
  fuzz::Script script(data, size);
  std::int64_t now = 1'000'000'000;
  std::vector<std::uint8_t> datagram;
  for (fuzz::Step step; script.next(step);) {
    datagram.insert(datagram.end(), step.bytes.begin(), step.bytes.end());
    if (step.code & 1) continue;
    now += step.code * std::int64_t{10'000'000};
    if (const auto p = live::read_sacn(datagram)) {
      demand(p->slots.size() <= live::kMostSlots && p->priority <= live::kMostPriority && p->universe >= 1 && p->universe <= live::kMostUniverse, "a packet's numbers are the standard's");
      demand(p->slots.data() + p->slots.size() <= datagram.data() + datagram.size(), "its slots lie in it");
    }
    ear.hear(datagram, now);
    ear.catch_up(now);
    datagram.clear();
    demand(ear.universe().sources().size() <= live::SacnUniverse::kMostSources, "sources are few");
    inlet->drain([&](const live::Touch& t) {
      demand(t.kind == live::Touch::Kind::slot || t.kind == live::Touch::Kind::slots_gone, "sACN makes touches of its own kinds alone");
      demand(t.value >= 0 && t.value <= 1 && t.number <= live::kMostSlots, "of slots and levels");
    });
  }
  return 0;
}
