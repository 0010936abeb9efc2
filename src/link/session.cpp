#include "link/session.hpp"

#include "link/session_core.hpp"

namespace mien::link {

std::string_view name(State state) noexcept {
  switch (state) {
    case State::closed: return "closed";
    case State::opening: return "opening";
    case State::greeting: return "greeting";
    case State::ready: return "ready";
    case State::arming: return "arming";
    case State::armed: return "armed";
    case State::disarming: return "disarming";
    case State::lost: return "lost";
  }
  return "unknown";
}

Session::Session(const show::Rig& rig, Options options) : core_(std::make_unique<Core>(rig, options)) {}

Session::~Session() = default;

void Session::open(const std::string& port) {
  core_->order([&](Orders& orders, Status& told) {
    orders.port = port;
    orders.goals.clear();  // what was asked of the boards behind the port before is not asked of these
    told = Status{};
    told.state = port.empty() ? State::closed : State::opening;
    told.port = port;
  });
}

void Session::close() { open(""); }

void Session::set_rig(const show::Rig& rig) {
  core_->order_rig(rig);
}

void Session::arm() {
  core_->order([](Orders& orders, Status&) { orders.goals.push_back(Goal::arm); });
}

void Session::disarm() {
  core_->order([](Orders& orders, Status&) { orders.goals.push_back(Goal::disarm); });
}

void Session::stop() {
  core_->order([](Orders& orders, Status&) { orders.goals.push_back(Goal::stop); });
}

void Session::adopt() {
  core_->order([](Orders& orders, Status&) { orders.adopt = true; });
}

bool Session::push(const Frame& frame) noexcept { return core_->push(frame); }
Armed Session::armed() const noexcept { return core_->armed(); }
Status Session::status() const { return core_->status(); }

}  // namespace mien::link
