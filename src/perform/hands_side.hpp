// The performing thread's dealings with hands: what it hears from them, what it tells the window about them, what it puts on tape.
#pragma once
#include <array>
#include <cstdint>

#include "live/follower.hpp"
#include "live/hands.hpp"
#include "live/take.hpp"
#include "perform/tick.hpp"
#include "threads/ring.hpp"

namespace mien::perform {

/// What the hands on the head were up to on the newest tick.
struct HandsNow {
  bool there = false;       ///< the plan has hands
  std::uint64_t heard = 0;  ///< touches so far, with or without hands in the plan
  live::Touch last{}, before{};  ///< the newest two
  int bank = 1;
  bool recording = false;
  std::array<live::Grip, live::kMostKnobs> grip{};  ///< by knob of the program
  std::array<char, show::kMaxControls> touched{};   ///< by control: they have a say in it
  std::array<char, live::kMostTriggers> lit{};      ///< by trigger of the program: its pose or clip is on
  int triggers = 0;
};

/// All but take() is for the performing thread; nothing allocates, locks or waits.
class HandsSide {
 public:
  explicit HandsSide(live::Inlet* inlet) noexcept : inlet_(inlet) {}

  /// What came since the last tick. Without hands in the plan it is counted all the same, for whoever wants to know what a device sends. Time code and clocks go to the
  /// follower, where there is one.
  void hear(const Plan& plan, Head& head, live::Follower* follower = nullptr) noexcept;
  void panic(const Plan& plan, Head& head) noexcept;
  void record(bool on) noexcept { now_.recording = on; }
  /// After a tick, while the show plays at `time`: what hands did goes on tape, under the show time that they meant.
  void put_on_tape(const Plan& plan, const Head& head, const Tick& tick, show::Time time) noexcept;
  const HandsNow& report(const Plan& plan, const Head& head) noexcept;

  /// For the thread that empties the tape.
  bool take(live::TakeTick& tick) noexcept { return tape_.pop(tick); }

 private:
  live::Inlet* const inlet_;
  HandsNow now_;
  threads::Ring<live::TakeTick, 1024> tape_;
};

}  // namespace mien::perform
