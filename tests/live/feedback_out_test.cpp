// Devices that are told something: with a system of the test's own, and through a JACK server, where the words come out at the other end.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <mutex>

#include "hand_rig.hpp"
#include "jack_server.hpp"
#include "live/feedback_out.hpp"
#include "support/eventually.hpp"

namespace mien::live {
namespace {

using ::testing::ElementsAre;

struct Wire {
  std::mutex mutex;
  std::vector<std::string> ports, told;
  bool broken = false;
  std::vector<std::string> heard() {
    const std::lock_guard lock(mutex);
    return told;
  }
};

class FakeOutput : public MidiOutput {
 public:
  FakeOutput(Wire& wire, std::string port) : wire_(wire), port_(std::move(port)) {}
  bool send(const std::uint8_t* bytes, int count) override {
    const std::lock_guard lock(wire_.mutex);
    if (wire_.broken) return false;
    std::string text = port_;
    for (int n = 0; n < count; ++n) {
      char byte[8];
      std::snprintf(byte, sizeof byte, " %02X", bytes[n]);
      text += byte;
    }
    wire_.told.push_back(text);
    return true;
  }

 private:
  Wire& wire_;
  std::string port_;
};

class FakeOutputs : public MidiOutSystem {
 public:
  explicit FakeOutputs(Wire& wire) : wire_(wire) {}
  std::vector<std::string> ports() override {
    const std::lock_guard lock(wire_.mutex);
    return wire_.ports;
  }
  std::unique_ptr<MidiOutput> open(const std::string& port) override { return std::make_unique<FakeOutput>(wire_, port); }

 private:
  Wire& wire_;
};

std::vector<std::unique_ptr<MidiOutSystem>> system_of(Wire& wire) {
  std::vector<std::unique_ptr<MidiOutSystem>> systems;
  systems.push_back(std::make_unique<FakeOutputs>(wire));
  return systems;
}

HandProgramPtr jaw_on(const std::string& device) {
  HandMap map;
  map.knobs = {{.source = {device, 1, Source::Kind::controller, 7}, .control = "jaw"}, {.source = {device, 1, Source::Kind::controller_14, 2}, .control = "smile"}};
  const std::vector<std::string> devices{device};
  return compile(map, hand_rig(), hand_show(), devices);
}

void tell(FeedbackOut& out, double jaw, std::uint64_t heard = 0, const Touch& last = {}) {
  const std::vector<double> control{0, jaw, 1, 0};
  out.now(control, {}, {}, 1, heard, last, {});
}

TEST(FeedbackOut, FindsADevicesOutputByItsName) {
  EXPECT_EQ(output_of("Desk", {"Other 1:0", "Desk 24:0"}), 1) << "ALSA's numbers change from one plugging in to the next";
  EXPECT_EQ(output_of("Slider:out", {"system:midi_playback_1", "Slider:in"}), 1) << "JACK names ports by their direction, too";
  EXPECT_EQ(output_of("Slider:out", {"Slide:in"}), -1);
  EXPECT_EQ(output_of("Desk", {}), -1);
}

TEST(FeedbackOut, TellsOnceItIsThere_OnlyChanges_AndAllAnewWhenItComesBack) {
  Wire wire;
  FeedbackOut out(system_of(wire));
  out.set(jaw_on("Desk"), {"Desk"});
  const auto told = [&](std::size_t count) {
    return support::eventually(std::chrono::milliseconds(5'000), [&] { return tell(out, 0.5), wire.heard().size() >= count; });
  };
  EXPECT_FALSE(support::eventually(std::chrono::milliseconds(100), [&] { return tell(out, 0.5), !wire.heard().empty(); })) << "it is not plugged in";
  {
    const std::lock_guard lock(wire.mutex);
    wire.ports = {"Desk 20:0"};
  }
  ASSERT_TRUE(told(3));
  EXPECT_THAT(wire.heard(), ElementsAre("Desk 20:0 B0 07 40", "Desk 20:0 B0 02 7F", "Desk 20:0 B0 22 7F"));
  out.set(jaw_on("Desk"), {"Desk"});
  EXPECT_FALSE(support::eventually(std::chrono::milliseconds(200), [&] { return tell(out, 0.5), wire.heard().size() > 3; })) << "an edit of the show is no news";
  {
    const std::lock_guard lock(wire.mutex);
    wire.ports = {};
  }
  std::this_thread::sleep_for(std::chrono::milliseconds(1200));
  {
    const std::lock_guard lock(wire.mutex);
    wire.ports = {"Desk 21:0"};
  }
  ASSERT_TRUE(told(6));
  EXPECT_EQ(wire.heard()[3], "Desk 21:0 B0 07 40");
}

// A client of the server that hears what it is told.
class Ears {
 public:
  explicit Ears(const char* name) : client_(client_with(name, "in", JackPortIsInput, in_)) {
    if (!client_) return;
    jack_set_process_callback(client_, &Ears::process, this);
    jack_activate(client_);
  }
  ~Ears() {
    if (client_) jack_client_close(client_);
  }
  std::vector<std::array<std::uint8_t, 3>> heard;
  void listen() {
    for (std::array<std::uint8_t, 3> message; ring_.pop(message);) heard.push_back(message);
  }

 private:
  static int process(jack_nframes_t frames, void* self) {
    auto& me = *static_cast<Ears*>(self);
    void* buffer = jack_port_get_buffer(me.in_, frames);
    for (std::uint32_t n = 0; n < jack_midi_get_event_count(buffer); ++n) {
      jack_midi_event_t event;
      if (jack_midi_event_get(&event, buffer, n) == 0 && event.size == 3) me.ring_.push({event.buffer[0], event.buffer[1], event.buffer[2]});
    }
    return 0;
  }
  jack_port_t* in_ = nullptr;  // before the client, which is made with it
  jack_client_t* client_;
  threads::Ring<std::array<std::uint8_t, 3>, 256> ring_;
};

TEST(FeedbackOut, ReachesADeviceThroughJack) {
  JackServer server;
  if (const auto missing = server.missing()) GTEST_SKIP() << *missing;
  ASSERT_TRUE(server.start());
  {
    Ears ears("Motor Slider");
    FeedbackOut out;
    out.set(jaw_on("Motor Slider:out"), {"Motor Slider:out"});
    const std::array<std::uint8_t, 3> half{0xB0, 7, 64}, up{0xB0, 7, 127};
    EXPECT_TRUE(support::eventually([&] { return tell(out, 0.5), ears.listen(), std::find(ears.heard.begin(), ears.heard.end(), half) != ears.heard.end(); }));
    EXPECT_TRUE(support::eventually([&] { return tell(out, 1), ears.listen(), std::find(ears.heard.begin(), ears.heard.end(), up) != ears.heard.end(); }));
  }
  server.end();
}

}  // namespace
}  // namespace mien::live
