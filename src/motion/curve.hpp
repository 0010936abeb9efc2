// The value of a channel at a time: an exact function, and a cursor that follows the tick at a fraction of its cost.
#pragma once
#include <array>
#include <cstdint>

#include "motion/easing.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::motion {

/// Before the first key its value, after the last its value; on a key that key's value. An empty channel gives `empty`.
/// Smooth segments are monotone cubics through the keys (tangents: Fritsch & Butland 1984, three-point harmonic mean, zero at local
/// extremes; at the ends of a run of smooth segments the one-sided secant, or zero next to a hold, which stands still), so they
/// never leave the range of their two keys.
double evaluate(const show::Channel& channel, show::Time t, double empty = 0) noexcept;

/// Slope of the same curve in units per second, from the right.
double slope_per_s(const show::Channel& channel, show::Time t) noexcept;

/// Tangent, in units per second, of the smooth curve at key i; precondition: i < keys.size().
double smooth_tangent(const show::Channel& channel, std::size_t i) noexcept;

/// Remembers the segment that it stands in, compiled to a polynomial. A value: copy it, throw it away, make another. It points into
/// the channel and the shapes that it was given, which must outlive it.
class Cursor {
 public:
  Cursor() = default;
  /// An easing that `shapes` has not is solved exactly. `empty` is the value of a channel without keys, or of no channel (nullptr).
  Cursor(const show::Channel* channel, const Shapes* shapes, double empty) noexcept
      : channel_(channel), shapes_(shapes), empty_(empty) {}
  /// A copy stands nowhere yet: the compiled segment stays with the one that compiled it.
  Cursor(const Cursor& other) noexcept : Cursor(other.channel_, other.shapes_, other.empty_) {}
  Cursor& operator=(const Cursor& other) noexcept {
    channel_ = other.channel_, shapes_ = other.shapes_, empty_ = other.empty_;
    length_ns_ = segment_ = 0;
    return *this;
  }

  /// Within 1e-6 of the key range from evaluate(), at any time in any order; times in sequence are cheap.
  double at(show::Time t) noexcept {
    const auto into = static_cast<std::uint64_t>((t - begin_).count());
    if (into >= length_ns_) return enter(t);
    const double scaled = static_cast<double>(static_cast<std::int64_t>(into)) * pieces_per_ns_;
    const int piece = static_cast<int>(scaled);
    const double u = scaled - piece;
    return base_ + span_ * Shape::value(table_ + std::ptrdiff_t{Shape::kTerms} * piece, u);
  }

 private:
  friend class Cursors;
  double enter(show::Time t) noexcept;
  void stand(double value, show::Time begin, show::Time end) noexcept;

  // The entered segment: value = base + span * polynomial of the piece, from a shape's table or from own_ (one piece).
  // A segment that must be solved has length 0 here, so that every call enters it.
  show::Time begin_{0};
  std::uint64_t length_ns_ = 0;
  double pieces_per_ns_ = 0, base_ = 0, span_ = 1;  // a hair low, so that rounding never leads beyond the last piece
  std::array<double, Shape::kTerms> own_{};
  const double* table_ = own_.data();

  const show::Channel* channel_ = nullptr;
  const Shapes* shapes_ = nullptr;
  std::size_t segment_ = 0;
  double empty_ = 0;
};

/// Many cursors that are read at the same time, as a tick does: the same values to the last bit, at half the cost. A value; as with
/// one cursor, a copy stands nowhere yet.
class Cursors {
 public:
  static constexpr int kMost = show::kMaxControls;
  /// Precondition: 0 <= i < kMost.
  void put(int i, const Cursor& cursor) noexcept;
  /// values[i] becomes what cursor i has at t, for the first `count`.
  void at(show::Time t, int count, double* values) noexcept;

 private:
  // The pieces that the cursors stand in, by field, so that whole vectors can be worked on. Length 0: in none. Rows are longer than
  // they need be, for rows a power of two apart would share a few lines of the cache.
  struct Stood {
    static constexpr std::size_t kRow = kMost + 8;
    using Row = std::array<double, kRow>;
    Stood() = default;
    Stood(const Stood&) noexcept : Stood() {}
    Stood& operator=(const Stood&) noexcept { return length_ns = {}, *this; }
    alignas(64) Row begin_ns{}, length_ns{}, pieces_per_ns{}, piece{}, base{}, span{};
    std::array<Row, Shape::kTerms> term{};
  };
  double move(std::size_t i, show::Time t) noexcept;
  void read(show::Time t, std::size_t count, double* values) noexcept;
  void read_wide(show::Time t, std::size_t count, double* values) noexcept;

  Stood stood_;
  std::array<Cursor, kMost> cursors_;
};

}  // namespace mien::motion
