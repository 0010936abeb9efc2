#include "wire/messages.hpp"

namespace mien::wire {

const char* name(Type type) noexcept {
  switch (type) {
    case Type::hello: return "hello";
    case Type::configure: return "configure";
    case Type::arm: return "arm";
    case Type::disarm: return "disarm";
    case Type::stop: return "stop";
    case Type::heartbeat: return "heartbeat";
    case Type::clock: return "clock";
    case Type::query: return "query";
    case Type::frame: return "frame";
    case Type::store_begin: return "begin to store";
    case Type::store_chunk: return "store";
    case Type::store_commit: return "end of storing";
    case Type::ask_playback: return "ask for playback";
    case Type::lead: return "lead";
    case Type::playback: return "playback";
    case Type::description: return "description";
    case Type::acknowledgement: return "acknowledgement";
    case Type::state_report: return "state report";
    case Type::refusal: return "refusal";
  }
  return "unknown";
}

const char* name(State state) noexcept {
  switch (state) {
    case State::unconfigured: return "unconfigured";
    case State::ready: return "ready";
    case State::waiting: return "waiting";
    case State::running: return "running";
    case State::holding: return "holding";
    case State::ramping: return "ramping";
    case State::disarming: return "disarming";
  }
  return "unknown";
}

const char* name(Reason reason) noexcept {
  switch (reason) {
    case Reason::none: return "none";
    case Reason::version: return "protocol version not spoken";
    case Reason::unknown_type: return "unknown message";
    case Reason::malformed: return "malformed message";
    case Reason::not_configured: return "not configured";
    case Reason::not_armed: return "not armed";
    case Reason::armed: return "not while armed";
    case Reason::bad_value: return "value out of range";
    case Reason::unknown_output: return "unknown output";
    case Reason::bad_time: return "latch time too far ahead";
    case Reason::queue_full: return "too many frames ahead";
    case Reason::unknown_channel: return "unknown channel";
    case Reason::no_room: return "no room for this baked show";
    case Reason::store_failed: return "memory did not take it";
  }
  return "unknown";
}

const char* name(Start start) noexcept {
  switch (start) {
    case Start::power: return "power-on";
    case Start::watchdog: return "watchdog";
    case Start::brown_out: return "low supply";
    case Start::other: return "reset";
  }
  return "unknown";
}

}  // namespace mien::wire
