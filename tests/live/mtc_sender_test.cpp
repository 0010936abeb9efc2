// Time code on its way out: the thread, into a sink of the test's own.
#include "live/mtc_sender.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

#include "live/jack_server.hpp"
#include "live/midi.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

struct Heard {
  std::mutex mutex;
  std::vector<MidiMessage> messages;
  MidiParser parser;
  std::size_t count(MidiMessage::Kind kind) {
    const std::lock_guard lock(mutex);
    return static_cast<std::size_t>(std::count_if(messages.begin(), messages.end(), [&](const MidiMessage& m) { return m.kind == kind; }));
  }
};
struct Sink final : MidiOutput {
  explicit Sink(Heard& h) : heard(h) {}
  bool send(const std::uint8_t* bytes, int count) override {
    const std::lock_guard lock(heard.mutex);
    for (int n = 0; n < count; ++n)
      if (const auto m = heard.parser.feed(bytes[n])) heard.messages.push_back(*m);
    return true;
  }
  Heard& heard;
};

bool eventually(const std::function<bool()>& holds) {
  for (int n = 0; n < 4000; ++n) {
    if (holds()) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  return false;
}

TEST(MtcSender, SendsAFullFrameThenQuarters_AndAFullFrameWhenTheShowStands) {
  Heard heard;
  MtcSender sender(std::make_unique<Sink>(heard), MtcOut(TimeCodeRate::fps_25, show::Time{3600'000'000'000}));
  using K = MidiMessage::Kind;
  std::this_thread::sleep_for(std::chrono::milliseconds(30));
  EXPECT_EQ(heard.count(K::full_time), 0u) << "nothing is known yet";
  const std::int64_t began = threads::steady_ns();
  ASSERT_TRUE(eventually([&] {
    sender.follow({threads::steady_ns(), show::Time{threads::steady_ns() - began}, true});
    return heard.count(K::quarter_frame) >= 24;
  }));
  EXPECT_GE(heard.count(K::full_time), 1u);
  {
    const std::lock_guard lock(heard.mutex);
    EXPECT_EQ(heard.messages.front().kind, K::full_time);
    EXPECT_EQ(heard.messages.front().time[0], 1 << 5 | 1) << "25 frames a second, one o'clock";
  }
  const auto full = heard.count(K::full_time);
  sender.follow({threads::steady_ns(), show::Time{5'000'000'000}, false});
  EXPECT_TRUE(eventually([&] { return heard.count(K::full_time) > full; }));
  const auto quarters = heard.count(K::quarter_frame);
  std::this_thread::sleep_for(std::chrono::milliseconds(60));
  EXPECT_EQ(heard.count(K::quarter_frame), quarters);
}

/// A client with one MIDI input.
class JackListener {
 public:
  explicit JackListener(const char* name) : client_(jack_client_open(name, JackNoStartServer, nullptr)) {
    if (!client_) return;
    port_ = jack_port_register(client_, "in", JACK_DEFAULT_MIDI_TYPE, JackPortIsInput, 0);
    jack_set_process_callback(client_, [](jack_nframes_t frames, void* self) {
      auto& me = *static_cast<JackListener*>(self);
      void* buffer = jack_port_get_buffer(me.port_, frames);
      jack_midi_event_t event;
      for (std::uint32_t n = 0; n < jack_midi_get_event_count(buffer); ++n)
        if (jack_midi_event_get(&event, buffer, n) == 0)
          for (std::size_t k = 0; k < event.size; ++k)
            if (const auto m = me.parser_.feed(event.buffer[k])) me.quarters += m->kind == MidiMessage::Kind::quarter_frame, me.fulls += m->kind == MidiMessage::Kind::full_time;
      return 0;
    }, this);
    jack_activate(client_);
  }
  ~JackListener() {
    if (client_) jack_client_close(client_);
  }
  bool works() const { return client_ && port_; }
  std::atomic<int> quarters{0}, fulls{0};

 private:
  jack_client_t* client_;
  jack_port_t* port_ = nullptr;
  MidiParser parser_;
};

TEST(MidiOutput, CarriesTimeCodeThroughRtMidiAndJack) {
  JackServer server;
  if (const auto why = server.missing()) GTEST_SKIP() << *why;
  ASSERT_TRUE(server.start());
  JackListener listener("tape-machine");
  ASSERT_TRUE(listener.works());
  auto sink = midi_output("tape-machine");
  ASSERT_TRUE(sink) << show::to_text(sink.problem());
  MtcSender sender(std::move(*sink), MtcOut());
  const std::int64_t began = threads::steady_ns();
  EXPECT_TRUE(eventually([&] {
    sender.follow({threads::steady_ns(), show::Time{threads::steady_ns() - began}, true});
    return listener.quarters >= 24 && listener.fulls >= 1;
  })) << listener.quarters << " quarter frames arrived";
}

TEST(MidiOutput, AnOutputThatIsNotThereIsRefusedWithThoseThatAre) {
  const auto sink = midi_output("an output that nobody has");
  ASSERT_FALSE(sink);
  EXPECT_THAT(sink.problem().what, testing::HasSubstr("an output that nobody has"));
  EXPECT_FALSE(sink.problem().cure.empty());
}

}  // namespace
}  // namespace mien::live
