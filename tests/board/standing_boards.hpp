// Boards with a baked show on their shelves, and no host; for the tests of what plays such shows and of what stores them.
#pragma once
#include "board/baked_images.hpp"

namespace mien::wire {
inline void PrintTo(Phase phase, std::ostream* out) { *out << name(phase); }
}  // namespace mien::wire

namespace mien::board {

using wire::State;

/// Boards in a chain: what one forwards, the next receives after a hop. Each board has its own clock.
class Chain {
 public:
  explicit Chain(std::vector<Image> images) {
    for (auto& image : images) {
      places_.push_back(std::make_unique<Place>());
      Place& place = *places_.back();
      place.image = std::move(image);
      place.chain = this;
      place.index = places_.size() - 1;
      switch_on(place.index);
    }
  }
  void switch_on(std::size_t n) {
    Place& place = *places_[n];
    Port port;
    port.context = &place;
    port.forward = [](void* context, const std::uint8_t* at, std::size_t size) {
      Place& from = *static_cast<Place*>(context);
      from.chain->pass(from.index + 1, at, size);
    };
    port.write = [](void* context, const std::uint8_t* at, std::size_t size) {
      auto& said = static_cast<Place*>(context)->said;
      said.insert(said.end(), at, at + size);
    };
    place.room = Image(4096, 0xFF);
    std::copy(place.image.begin(), place.image.end(), place.room.begin());
    port.shelf = {&place, place.room.data(), 4096,
                  [](void* context, std::uint32_t) { return std::fill_n(static_cast<Place*>(context)->room.begin(), 4096, 0xFF), true; },
                  [](void* context, std::uint32_t offset, const std::uint8_t* at, std::uint32_t count) {
                    std::copy_n(at, count, static_cast<Place*>(context)->room.begin() + offset);
                    return true;
                  }};
    About about;
    about.lines = 1;
    place.board = std::make_unique<Board>(about, port);
    place.born_ms = ms_ - static_cast<int>(n) * 77;
    place.board->stand_alone(clock_us(place));
  }
  void switch_off(std::size_t n) { places_[n]->board.reset(); }

  void run_ms(int ms) {
    for (int i = 0; i < ms; ++i) {
      ++ms_;
      for (auto& place : places_)
        if (place->board) place->board->tick(clock_us(*place));
    }
  }
  template <class Message>
  void send(const Message& message) {
    std::uint8_t out[wire::kMaxOnWire];
    const std::size_t size = encode(message, out, sizeof out);
    pass(0, out, size);
  }
  void set_inputs(std::uint16_t inputs) { sense(inputs, 0); }
  void sense(std::uint16_t inputs, std::uint8_t faults, std::size_t n = 0) {
    Senses senses;
    senses.inputs = inputs, senses.faults = faults;
    places_[n]->board->sense(senses, clock_us(*places_[n]));
  }
  /// Runs until it is so; how many ms that took.
  template <class So>
  int until(So so, int most_ms = 20'000) {
    for (int ms = 0; ms < most_ms; ++ms) {
      if (so()) return ms;
      run_ms(1);
    }
    ADD_FAILURE() << "never";
    return most_ms;
  }
  int until_phase(Phase phase) {
    return until([&] { return board().player().phase() == phase; });
  }

  Board& board(std::size_t n = 0) { return *places_[n]->board; }
  double us(std::size_t n = 0) { return board(n).pulse(0) / 16.0; }
  template <class Message>
  Message newest_answer(std::size_t n = 0) {
    Message out, newest;
    wire::Deframer deframer;
    for (const auto byte : places_[n]->said)
      if (deframer.push(byte) && decode(deframer.packet(), out)) newest = out;
    return newest;
  }

 private:
  struct Place {
    Image image, room, said;
    std::unique_ptr<Board> board;
    Chain* chain = nullptr;
    std::size_t index = 0;
    int born_ms = 0;
  };
  void pass(std::size_t to, const std::uint8_t* at, std::size_t size) {
    if (to >= places_.size() || !places_[to]->board) return;
    for (std::size_t i = 0; i < size; ++i) places_[to]->board->receive(at[i], clock_us(*places_[to]));
  }
  std::uint32_t clock_us(const Place& place) const { return kBeforeTheWrap + static_cast<std::uint32_t>(ms_ - place.born_ms) * 1000u; }

  std::vector<std::unique_ptr<Place>> places_;
  int ms_ = 0;
};

inline ImageOf at_power_on() {
  ImageOf what;
  what.tracks = {hill()};
  return what;
}

}  // namespace mien::board
