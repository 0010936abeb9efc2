// A client of a JACK server that hears time code.
#pragma once
#include <jack/jack.h>
#include <jack/midiport.h>

#include <atomic>

#include "live/jack_server.hpp"
#include "live/midi.hpp"

namespace mien::live {

/// A client with one MIDI input.
class JackListener {
 public:
  explicit JackListener(const char* name) : client_(client_with(name, "in", JackPortIsInput, port_)) {
    if (!client_) return;
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
  jack_port_t* port_ = nullptr;  // before the client, which is made with it
  jack_client_t* client_;
  MidiParser parser_;
};

}  // namespace mien::live
