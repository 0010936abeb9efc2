#include "motion/curve.hpp"

#include <algorithm>
#include <bit>

namespace mien::motion {
namespace {

using show::Easing;
using show::Keyframe;
using show::Time;
using Keys = std::vector<Keyframe>;

// Index of the last key at or before t; keys.size() where t lies before the first.
std::size_t key_before(const Keys& keys, Time t) noexcept {
  const auto after = std::upper_bound(keys.begin(), keys.end(), t, [](Time time, const Keyframe& k) { return time < k.time; });
  return after == keys.begin() ? keys.size() : static_cast<std::size_t>(after - keys.begin()) - 1;
}

double length_ns(const Keys& keys, std::size_t i) noexcept { return static_cast<double>((keys[i + 1].time - keys[i].time).count()); }

double secant(const Keys& keys, std::size_t i) noexcept { return (keys[i + 1].value - keys[i].value) / length_ns(keys, i); }

// In units per nanosecond, which saves entering a segment the conversions. Where a run of smooth segments begins or ends its tangent is its own secant; flat where it meets a hold, which stands still.
double tangent(const Keys& keys, std::size_t i) noexcept {
  const bool left = i > 0 && keys[i - 1].easing.kind == Easing::Kind::smooth;
  const bool right = i + 1 < keys.size() && keys[i].easing.kind == Easing::Kind::smooth;
  if (!left && !right) return 0;
  const bool from_hold = i > 0 && keys[i - 1].easing.kind == Easing::Kind::hold;
  const bool to_hold = i + 1 < keys.size() && keys[i].easing.kind == Easing::Kind::hold;
  if (from_hold || to_hold) return 0;
  if (!left) return secant(keys, i);
  if (!right) return secant(keys, i - 1);
  const double d0 = secant(keys, i - 1), d1 = secant(keys, i);
  if (!(d0 * d1 > 0)) return 0;
  const double h0 = length_ns(keys, i - 1), h1 = length_ns(keys, i);
  const double w1 = 2 * h1 + h0, w2 = h1 + 2 * h0;
  return (w1 + w2) * d0 / (w1 * d1 + w2 * d0) * d1;  // (w1 + w2) / (w1 / d0 + w2 / d1)
}

// A smooth segment in its share u of the time: c0 + c1 u + c2 u^2 + c3 u^3 (cubic Hermite).
struct Cubic { double c0, c1, c2, c3; };
Cubic smooth_segment(const Keys& keys, std::size_t i) noexcept {
  const double length = length_ns(keys, i), y0 = keys[i].value, dy = keys[i + 1].value - y0;
  const double m0 = tangent(keys, i) * length, m1 = tangent(keys, i + 1) * length;
  return {y0, m0, 3 * dy - 2 * m0 - m1, m0 + m1 - 2 * dy};
}

}  // namespace

double smooth_tangent(const show::Channel& channel, std::size_t i) noexcept { return tangent(channel.keys, i) * 1e9; }

double evaluate(const show::Channel& channel, Time t, double empty) noexcept {
  const Keys& keys = channel.keys;
  if (keys.empty()) return empty;
  const std::size_t i = key_before(keys, t);
  if (i == keys.size()) return keys.front().value;
  if (i + 1 == keys.size()) return keys.back().value;
  const double u = static_cast<double>((t - keys[i].time).count()) / static_cast<double>((keys[i + 1].time - keys[i].time).count());
  const double y0 = keys[i].value, dy = keys[i + 1].value - y0;
  switch (keys[i].easing.kind) {
    case Easing::Kind::hold: return y0;
    case Easing::Kind::linear: return y0 + u * dy;
    case Easing::Kind::bezier: return y0 + dy * bezier_ease(keys[i].easing, u);
    case Easing::Kind::smooth: break;
  }
  const Cubic c = smooth_segment(keys, i);
  return c.c0 + u * (c.c1 + u * (c.c2 + u * c.c3));
}

double slope_per_s(const show::Channel& channel, Time t) noexcept {
  const Keys& keys = channel.keys;
  const std::size_t i = keys.empty() ? 0 : key_before(keys, t);
  if (i + 1 >= keys.size()) return 0;
  const double length_s = show::to_seconds(keys[i + 1].time - keys[i].time);
  const double u = show::to_seconds(t - keys[i].time) / length_s, dy = keys[i + 1].value - keys[i].value;
  const Easing& e = keys[i].easing;
  switch (e.kind) {
    case Easing::Kind::hold: return 0;
    case Easing::Kind::linear: return dy / length_s;
    case Easing::Kind::bezier: return dy == 0 ? 0 : bezier_slope(e.x1, e.y1, e.x2, e.y2, u) * dy / length_s;
    case Easing::Kind::smooth: break;
  }
  const Cubic c = smooth_segment(keys, i);
  return (c.c1 + u * (2 * c.c2 + u * 3 * c.c3)) / length_s;
}

void Cursor::stand(double value, Time begin, Time end) noexcept {
  begin_ = begin;
  length_ns_ = static_cast<std::uint64_t>((end - begin).count());
  own_ = {};
  table_ = own_.data();
  pieces_per_ns_ = 0;
  base_ = value;
  span_ = 0;
}

double Cursor::enter(Time t) noexcept {
  constexpr double kHairLow = 1 - 0x1p-51;
  constexpr Time kFirst = Time::min() / 4, kLast = Time::max() / 4;  // far beyond any show, and their difference still fits
  if (!channel_ || channel_->keys.empty()) return stand(empty_, kFirst, kLast), empty_;
  const Keys& keys = channel_->keys;
  // Going forward, the next segment is the usual one; anything else is a search.
  const bool next = segment_ + 2 < keys.size() && t >= keys[segment_ + 1].time && t < keys[segment_ + 2].time;
  const std::size_t i = next ? segment_ + 1 : key_before(keys, t);
  if (i == keys.size()) return stand(keys.front().value, kFirst, keys.front().time), base_;
  segment_ = i;
  if (i + 1 == keys.size()) return stand(keys.back().value, keys.back().time, kLast), base_;
  __builtin_prefetch(&keys[std::min(i + 4, keys.size() - 1)]);  // what the next segment will ask for
  stand(keys[i].value, keys[i].time, keys[i + 1].time);
  if (keys[i].easing.kind == Easing::Kind::hold) return base_;

  pieces_per_ns_ = kHairLow / static_cast<double>(length_ns_);
  span_ = 1;
  switch (keys[i].easing.kind) {
    case Easing::Kind::hold: break;
    case Easing::Kind::linear: own_[1] = keys[i + 1].value - base_; break;
    case Easing::Kind::smooth: {
      const Cubic c = smooth_segment(keys, i);
      own_[1] = c.c1, own_[2] = c.c2, own_[3] = c.c3;
      break;
    }
    case Easing::Kind::bezier: {
      if (is_cubic(keys[i].easing)) {
        const double dy = keys[i + 1].value - base_, y1 = keys[i].easing.y1, y2 = keys[i].easing.y2;
        own_[1] = 3 * y1 * dy, own_[2] = 3 * (y2 - 2 * y1) * dy, own_[3] = (1 + 3 * (y1 - y2)) * dy;
        break;
      }
      span_ = keys[i + 1].value - base_;
      const Shape* shape = shapes_ ? shapes_->find(keys[i].easing) : nullptr;
      if (!shape) {
        const double u = static_cast<double>((t - begin_).count()) * pieces_per_ns_;
        length_ns_ = 0;
        return base_ + span_ * bezier_ease(keys[i].easing, u);
      }
      table_ = shape->table();
      pieces_per_ns_ = shape->pieces() * pieces_per_ns_;
    }
  }
  return at(t);  // t lies in the segment now
}

void Cursors::put(int i, const Cursor& cursor) noexcept {
  cursors_[static_cast<std::size_t>(i)] = cursor;
  stood_.length_ns[static_cast<std::size_t>(i)] = 0;
}

// Takes cursor i to the piece at t, of its segment or of another, and gives what it has there.
double Cursors::move(std::size_t i, Time t) noexcept {
  Cursor& c = cursors_[i];
  const double value = c.at(t);
  stood_.begin_ns[i] = static_cast<double>(c.begin_.count());
  stood_.length_ns[i] = static_cast<double>(c.length_ns_);
  stood_.pieces_per_ns[i] = c.pieces_per_ns_;
  stood_.base[i] = c.base_;
  stood_.span[i] = c.span_;
  if (c.length_ns_ == 0) return value;  // solved, and so entered again on every call
  const int piece = static_cast<int>(static_cast<double>((t - c.begin_).count()) * c.pieces_per_ns_);
  const double* terms = c.table_ + std::ptrdiff_t{Shape::kTerms} * piece;
  stood_.piece[i] = piece;
  for (std::size_t k = 0; k < Shape::kTerms; ++k) stood_.term[k][i] = terms[k];
  return value;
}

// All are read as if they still stood in the piece in which they were last, in vectors and without a branch; then the few that have left it move.
[[gnu::always_inline]] inline void Cursors::read(Time t, std::size_t count, double* values) noexcept {
  constexpr std::size_t kBlock = 64;
  static constexpr auto kBit = [] {
    std::array<std::uint64_t, kBlock> bit{};
    for (std::size_t j = 0; j < kBlock; ++j) bit[j] = std::uint64_t{1} << j;
    return bit;
  }();
  const double now = static_cast<double>(t.count());
  for (std::size_t first = 0; first < count; first += kBlock) {
    const std::size_t here = std::min(kBlock, count - first);
    std::uint64_t left = 0;
#pragma GCC ivdep  // no array here overlaps another
    for (std::size_t j = 0; j < here; ++j) {
      const std::size_t i = first + j;
      const double into = now - stood_.begin_ns[i];
      const double u = into * stood_.pieces_per_ns[i] - stood_.piece[i];
      const bool inside = (into >= 0) & (into < stood_.length_ns[i]) & (u >= 0) & (u < 1);
      left |= inside ? 0 : kBit[j];
      std::array<double, Shape::kTerms> c;
      for (std::size_t k = 0; k < Shape::kTerms; ++k) c[k] = stood_.term[k][i];
      values[i] = stood_.base[i] + stood_.span[i] * Shape::value(c.data(), u);
    }
    for (; left != 0; left &= left - 1) {
      const std::size_t i = first + static_cast<std::size_t>(std::countr_zero(left));
      values[i] = move(i, t);
    }
  }
}

// The same source twice, as in limiter.cpp.
#if defined(__x86_64__)
[[gnu::target("avx2")]] void Cursors::read_wide(Time t, std::size_t count, double* values) noexcept { read(t, count, values); }
namespace { const bool kWide = __builtin_cpu_supports("avx2"); }
#endif

void Cursors::at(Time t, int count, double* values) noexcept {
#if defined(__x86_64__)
  if (kWide) return read_wide(t, static_cast<std::size_t>(count), values);
#endif
  read(t, static_cast<std::size_t>(count), values);
}

}  // namespace mien::motion
