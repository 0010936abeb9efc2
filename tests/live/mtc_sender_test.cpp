// Time code on its way out: the thread, into a sink of the test's own.
#include "live/mtc_sender.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <thread>
#include <vector>

#include "live/jack_listener.hpp"
#include "live/jack_server.hpp"
#include "live/midi.hpp"
#include "live/tape_machine.hpp"
#include "support/eventually.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

using support::eventually;

TEST(MtcSender, SendsAFullFrameThenQuarters_AndAFullFrameWhenTheShowStands) {
  TapeMachine machine;
  auto opened = MtcSender::open({"Tape", TimeCodeRate::fps_25, show::Time{3600'000'000'000}}, machine.systems());
  ASSERT_TRUE(opened) << show::to_text(opened.problem());
  MtcSender& sender = **opened;
  using K = MidiMessage::Kind;
  std::this_thread::sleep_for(std::chrono::milliseconds(30));
  EXPECT_EQ(machine.count(K::full_time), 0u) << "nothing is known yet";
  const std::int64_t began = threads::steady_ns();
  ASSERT_TRUE(eventually([&] {
    sender.follow({threads::steady_ns(), show::Time{threads::steady_ns() - began}, true});
    return machine.count(K::quarter_frame) >= 24;
  }));
  EXPECT_GE(machine.count(K::full_time), 1u);
  // MIDI Time Code (MMA 1987): F0 7F 7F 01 01 hh mm ss ff F7, rate 01 (25) in bits 5 and 6 of the hours.
  EXPECT_EQ(machine.messages().front().time[0], 1 << 5 | 1) << "25 frames a second, one o'clock";
  const auto full = machine.count(K::full_time);
  sender.follow({threads::steady_ns(), show::Time{5'000'000'000}, false});
  EXPECT_TRUE(eventually([&] { return machine.count(K::full_time) > full; }));
  const auto quarters = machine.count(K::quarter_frame);
  std::this_thread::sleep_for(std::chrono::milliseconds(60));
  EXPECT_EQ(machine.count(K::quarter_frame), quarters);
}

TEST(MtcSender, SaysThatItsOutputIsGone_AndBeginsAnewWithAFullFrameWhenItIsBack) {
  using K = MidiMessage::Kind;
  for (const bool told : {false, true}) {  // a port that is only gone from the list, as on JACK, and one that refuses, too
    SCOPED_TRACE(told ? "refuses" : "is gone");
    TapeMachine machine;
    auto opened = MtcSender::open({"Tape"}, machine.systems());
    ASSERT_TRUE(opened) << show::to_text(opened.problem());
    MtcSender& sender = **opened;
    EXPECT_EQ(to_text(sender.status()), "time code goes to Tape Machine 24:0");
    const std::int64_t began = threads::steady_ns();
    const auto play = [&] { sender.follow({threads::steady_ns(), show::Time{threads::steady_ns() - began}, true}); };
    ASSERT_TRUE(eventually([&] { return play(), machine.count(K::quarter_frame) >= 8; }));
    machine.unplug(told);
    ASSERT_TRUE(eventually([&] { return play(), !sender.status().there; }));
    EXPECT_EQ(to_text(sender.status()), "Tape Machine 24:0 is gone: time code goes on when it is back");
    machine.forget();
    std::this_thread::sleep_for(std::chrono::milliseconds(60));
    EXPECT_TRUE(machine.messages().empty());
    machine.plug("Tape Machine 31:0");
    ASSERT_TRUE(eventually([&] { return play(), machine.count(K::quarter_frame) >= 24; }));
    EXPECT_EQ(sender.status().port, "Tape Machine 31:0");
    EXPECT_EQ(sender.status().times_gone, 1u);
    const auto messages = machine.messages();
    ASSERT_EQ(messages.front().kind, K::full_time);
    // Eight quarter frames in order, pieces 0 to 7 (the high half of the byte), carry one label.
    QuarterFrames gathered;
    int labels = 0;
    for (std::size_t n = 1; n < messages.size(); ++n) {
      ASSERT_EQ(messages[n].kind, K::quarter_frame);
      labels += gathered.feed(static_cast<std::uint8_t>(messages[n].value)) ? 1 : 0;
    }
    EXPECT_GE(labels, 2);
  }
}

TEST(MtcSender, AnOutputThatComesBackWhileTheShowStandsIsToldWhere) {
  TapeMachine machine;
  auto opened = MtcSender::open({"Tape", TimeCodeRate::fps_25, show::Time{0}}, machine.systems());
  ASSERT_TRUE(opened) << show::to_text(opened.problem());
  (*opened)->follow({threads::steady_ns(), show::Time{62'480'000'000}, false});
  ASSERT_TRUE(eventually([&] { return !machine.bytes().empty(); }));
  // 62.48 s at 25: one minute, two seconds, twelve frames; the hours carry the rate, 01 for 25.
  const std::vector<std::uint8_t> full{0xF0, 0x7F, 0x7F, 0x01, 0x01, 0x20, 1, 2, 12, 0xF7};
  EXPECT_EQ(machine.bytes(), full);
  machine.unplug(false);
  ASSERT_TRUE(eventually([&] { return !(*opened)->status().there; }));
  machine.forget();
  machine.plug("Tape Machine 24:0");
  ASSERT_TRUE(eventually([&] { return !machine.bytes().empty(); }));
  EXPECT_EQ(machine.bytes(), full);
}

TEST(MidiOutput, TheOneThatHasTheNameComesBeforeThoseThatHoldIt) {
  TapeMachine machine;
  machine.plug("Tape Machine 24:0"), machine.plug("Tape 25:0");
  auto systems = machine.systems();
  EXPECT_EQ(midi_output(systems, "Tape")->port, "Tape 25:0");
  EXPECT_EQ(midi_output(systems, "Mach")->port, "Tape Machine 24:0");
  EXPECT_THAT(midi_outputs(systems), testing::ElementsAre("Tape Machine", "Tape"));
}

TEST(MidiOutput, CarriesTimeCodeThroughRtMidiAndJack) {
  JackServer server;
  if (const auto why = server.missing()) GTEST_SKIP() << *why;
  ASSERT_TRUE(server.start());
  auto listener = std::make_unique<JackListener>("tape-machine");
  ASSERT_TRUE(listener->works());
  auto opened = MtcSender::open({"tape-machine"});
  ASSERT_TRUE(opened) << show::to_text(opened.problem());
  MtcSender& sender = **opened;
  const std::int64_t began = threads::steady_ns();
  const auto play = [&] { sender.follow({threads::steady_ns(), show::Time{threads::steady_ns() - began}, true}); };
  EXPECT_TRUE(eventually([&] { return play(), listener->quarters >= 24 && listener->fulls >= 1; })) << listener->quarters << " quarter frames arrived";
  listener.reset();
  EXPECT_TRUE(eventually([&] { return play(), !sender.status().there; })) << "unplugged";
  listener = std::make_unique<JackListener>("tape-machine");
  EXPECT_TRUE(eventually([&] { return play(), listener->quarters >= 24 && listener->fulls >= 1; })) << "and plugged in again";
  server.end();
  EXPECT_TRUE(eventually([&] { return play(), !sender.status().there; })) << "a server that died is an output that is gone";
  jack_set_error_function([](const char*) {});
  ASSERT_TRUE(server.start());
  {
    JackListener other("tape-machine");
    EXPECT_TRUE(eventually([&] { return play(), other.quarters >= 24 && other.fulls >= 1; })) << "and one that was started anew has it again";
  }
  server.end();
  ASSERT_TRUE(server.start());
  JackListener last("tape-machine");
  EXPECT_TRUE(eventually([&] { return play(), last.quarters >= 24 && last.fulls >= 1; })) << "and so has the next, though nobody saw that none was there in between";
}

TEST(MidiOutput, AnOutputThatIsNotThereIsRefusedWithThoseThatAre) {
  auto systems = midi_out_systems();
  const auto sink = midi_output(systems, "an output that nobody has");
  ASSERT_FALSE(sink);
  EXPECT_THAT(sink.problem().what, testing::HasSubstr("an output that nobody has"));
  EXPECT_FALSE(sink.problem().cure.empty());
}

}  // namespace
}  // namespace mien::live
