// Devices that come and go, on a MIDI system of the test's own; and once through RtMidi and a JACK server without sound.
#include "live/devices.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "live/jack_server.hpp"
#include "support/eventually.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

struct FakeInputs : MidiSystem {
  struct Port { std::string name; MidiEar* ear = nullptr; bool refuses = false; };
  struct Connection : MidiConnection {
    explicit Connection(FakeInputs& s, std::string p) : system(s), port(std::move(p)) {}
    ~Connection() override { for (auto& q : system.all) if (q.name == port) q.ear = nullptr; }
    FakeInputs& system;
    std::string port;
  };
  std::string name() const override { return "fake"; }
  std::vector<std::string> ports() override {
    std::vector<std::string> names;
    for (const auto& p : all) names.push_back(p.name);
    return names;
  }
  std::unique_ptr<MidiConnection> open(const std::string& port, MidiEar& ear) override {
    for (auto& p : all)
      if (p.name == port && !p.refuses) return p.ear = &ear, std::make_unique<Connection>(*this, port);
    return nullptr;
  }
  void plug(const std::string& port) { all.push_back({port}); }
  void unplug(const std::string& port) { std::erase_if(all, [&](const Port& p) { return p.name == port; }); }
  void send(const std::string& port, std::vector<std::uint8_t> bytes) {
    for (auto& p : all)
      if (p.name == port && p.ear) p.ear->hear(bytes.data(), bytes.size(), 17);
  }
  std::vector<Port> all;
};

struct DeviceBench {
  DeviceBench() {
    auto made = std::make_unique<FakeInputs>();
    system = made.get();
    std::vector<std::unique_ptr<MidiSystem>> systems;
    systems.push_back(std::move(made));
    devices = std::make_unique<Devices>(inlet, std::move(systems));
  }
  std::vector<Touch> heard() {
    std::vector<Touch> touches;
    inlet.drain([&](const Touch& t) { touches.push_back(t); });
    return touches;
  }
  Inlet inlet;
  FakeInputs* system;
  std::unique_ptr<Devices> devices;
};

TEST(Devices, RememberedNamesLeaveOutWhatChanges) {
  EXPECT_EQ(remembered_name("Slide Eight:Slide Eight MIDI 1 20:0"), "Slide Eight:Slide Eight MIDI 1");
  EXPECT_EQ(remembered_name("system:midi_capture_1"), "system:midi_capture_1");
  for (const char* name : {"", "1", ":0", " :0", "20:0", "a:", "a b:", "name 20:"}) EXPECT_EQ(remembered_name(name), name);
}

TEST(Devices, AreHeardWhenPluggedIn_LetGoWhenUnplugged_AndKnownAgain) {
  DeviceBench b;
  EXPECT_FALSE(b.devices->poll());
  b.system->plug("Keys 20:0");
  EXPECT_TRUE(b.devices->poll());
  EXPECT_FALSE(b.devices->poll()) << "nothing new";
  b.system->plug("Pad 24:0");
  EXPECT_TRUE(b.devices->poll());
  EXPECT_THAT(b.devices->names(), testing::ElementsAre("Keys", "Pad"));

  b.system->send("Pad 24:0", {0xB0, 7, 100});
  b.system->send("Keys 20:0", {0x90, 60});
  b.system->send("Keys 20:0", {1, 0xFE});
  const auto touches = b.heard();
  ASSERT_EQ(touches.size(), 2u);
  EXPECT_EQ(touches[0].device, 0);
  EXPECT_EQ(touches[0].midi.kind, MidiMessage::Kind::note_on);
  EXPECT_EQ(touches[0].at_ns, 17);
  EXPECT_EQ(touches[1].device, 1);
  EXPECT_EQ(b.devices->seen()[1].messages, 1u);

  b.system->unplug("Keys 20:0");
  EXPECT_FALSE(b.devices->poll());
  EXPECT_FALSE(b.devices->seen()[0].there);
  ASSERT_EQ(b.heard().size(), 1u);
  b.system->plug("Keys 28:0");  // another number this time
  EXPECT_FALSE(b.devices->poll()) << "it is known";
  EXPECT_TRUE(b.devices->seen()[0].there);
  b.system->send("Keys 28:0", {0xB0, 7, 100});
  EXPECT_EQ(b.heard().at(0).device, 0);
}

TEST(Devices, TwoOfAKindAreTold_AndWhatIsNotWantedIsLeftAlone) {
  DeviceBench b;
  b.devices->only("Keys");
  for (const char* port : {"Keys 20:0", "Keys 24:0", "Pad 28:0"}) b.system->plug(port);
  b.devices->poll();
  EXPECT_THAT(b.devices->names(), testing::ElementsAre("Keys", "Keys (2)"));
  EXPECT_EQ(b.devices->number_of("Keys (2)"), 1);
  EXPECT_EQ(b.devices->number_of("gamepad"), 2);
}

TEST(Devices, OneThatRefusesIsTriedAgain_AndTooManyAreNotHeard) {
  DeviceBench b;
  b.system->plug("Keys");
  b.system->all[0].refuses = true;
  b.devices->poll();
  EXPECT_FALSE(b.devices->seen()[0].there);
  b.system->all[0].refuses = false;
  b.devices->poll();
  EXPECT_TRUE(b.devices->seen()[0].there);
  for (int n = 0; n < 40; ++n) b.system->plug("more " + std::string(1, char('A' + n)));
  b.devices->poll();
  EXPECT_EQ(b.devices->seen().size(), std::size_t{kMostDevices});
  EXPECT_EQ(b.devices->number_of("one more"), -1);
}

TEST(Devices, HearAControllerThroughRtMidiAndJack_WhenItComesAndWhenItGoes) {
  JackServer server;
  if (const auto why = server.missing()) GTEST_SKIP() << *why;
  Inlet inlet;
  Devices devices(inlet);
  EXPECT_FALSE(devices.poll()) << "no server yet, no devices";
  ASSERT_TRUE(server.start());
  const auto there = [&](const std::string& name) {
    devices.poll();
    const auto seen = devices.seen();
    return std::any_of(seen.begin(), seen.end(), [&](const auto& d) { return d.name == name && d.there; });
  };
  std::vector<Touch> heard;
  const auto hear = [&] { inlet.drain([&](const Touch& t) { if (t.kind == Touch::Kind::midi) heard.push_back(t); }); };
  for (int plugged = 0; plugged < 2; ++plugged) {
    JackController controller("slide-eight");
    ASSERT_TRUE(controller.works());
    ASSERT_TRUE(support::eventually([&] { return there("slide-eight:out"); }));
    ASSERT_TRUE(support::eventually([&] { return controller.connected(); }));
    heard.clear();
    const std::int64_t before = threads::steady_ns();
    for (int n = 0; n < 100; ++n) ASSERT_TRUE(controller.send({0xB0, 1, static_cast<std::uint8_t>(n)}));
    ASSERT_TRUE(support::eventually([&] { return hear(), heard.size() == 100; })) << heard.size() << " of 100 arrived";
    for (std::size_t n = 0; n < 100; ++n) {
      EXPECT_EQ(heard[n].midi.value, n) << "in their order";
      EXPECT_GE(heard[n].at_ns, before);
      EXPECT_LE(heard[n].at_ns, threads::steady_ns());
    }
    controller.unplug();
    EXPECT_TRUE(support::eventually([&] { return !there("slide-eight:out"); }));
  }
  server.end();
  EXPECT_FALSE(there("slide-eight:out")) << "a server that ends is no harm";
}

TEST(Devices, HearAControllerAtTheNextJackServerThoughNobodyLookedInBetween) {
  JackServer server;
  if (const auto why = server.missing()) GTEST_SKIP() << *why;
  Inlet inlet;
  Devices devices(inlet);
  int heard = 0, gone = 0;
  for (int run = 0; run < 2; ++run) {
    ASSERT_TRUE(server.start());
    JackController controller("slide-eight");
    ASSERT_TRUE(controller.works());
    heard = 0;
    EXPECT_TRUE(support::eventually([&] {
      devices.poll();
      if (controller.connected() && !controller.send({0xB0, 1, 64})) ADD_FAILURE() << "nothing leaves";
      inlet.drain([&](const Touch& t) { heard += t.kind == Touch::Kind::midi, gone += t.kind == Touch::Kind::gone; });
      return heard > 0;
    })) << "run " << run;
    controller.unplug();
    server.end();
  }
  EXPECT_EQ(gone, 1) << "what was held at the first server was let go";
}

TEST(Devices, LookAtAJackServerWithoutDevicesAsOneClientThatStays) {
  JackServer server;
  if (const auto why = server.missing()) GTEST_SKIP() << *why;
  ASSERT_TRUE(server.start());
  jack_port_t* of_no_interest = nullptr;
  jack_client_t* watcher = client_with("watcher", "in", JackPortIsInput, of_no_interest);
  ASSERT_TRUE(watcher);
  std::atomic<int> came{0}, went{0};
  std::pair<std::atomic<int>*, std::atomic<int>*> both{&came, &went};
  jack_set_client_registration_callback(watcher, [](const char*, int comes, void* to) {
    const auto& counts = *static_cast<decltype(both)*>(to);
    ++*(comes ? counts.first : counts.second);
  }, &both);
  ASSERT_EQ(jack_activate(watcher), 0);
  {
    Inlet inlet;
    Devices devices(inlet);
    for (int look = 0; look < 5; ++look) devices.poll();
    EXPECT_TRUE(devices.seen().empty());
    EXPECT_TRUE(support::eventually([&] { return came > 0; }));
  }
  EXPECT_TRUE(support::eventually([&] { return went > 0; })) << "it goes when nobody looks any more";
  EXPECT_EQ(came, 1) << "a client that comes and goes at each look makes the server sort its graph anew each time";
  EXPECT_EQ(went, 1);
  jack_client_close(watcher);
}

}  // namespace
}  // namespace mien::live
