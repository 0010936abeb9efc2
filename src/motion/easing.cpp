#include "motion/easing.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <limits>
#include <numbers>

namespace mien::motion {
namespace {

// One coordinate of the unit cubic, b(t) = ((a t + b) t + c) t.
struct UnitCubic {
  double a, b, c;
  UnitCubic(double p1, double p2) noexcept : a(1 + 3 * (p1 - p2)), b(3 * (p2 - 2 * p1)), c(3 * p1) {}
  double at(double t) const noexcept { return ((a * t + b) * t + c) * t; }
  double slope(double t) const noexcept { return (3 * a * t + 2 * b) * t + c; }
};

// x(t) rises over [0, 1], so Newton inside a shrinking bracket always gets there, vertical tangents included.
double parameter(const UnitCubic& bx, double x) noexcept {
  double low = 0, high = 1, t = x;
  for (int i = 0; i < 80; ++i) {
    const double error = bx.at(t) - x;
    if (error == 0) return t;
    (error > 0 ? high : low) = t;
    const double slope = bx.slope(t);
    double next = slope > 0 ? t - error / slope : low;
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    if (std::abs(next - t) < 1e-16) return next;
    t = next;
  }
  return t;
}

// The slope that carries the curve beyond x = 0: along P1, or along P2 where P1 coincides with P0; none where that is vertical.
double start_slope(double x1, double y1, double x2, double y2) noexcept {
  if (x1 > 0) return y1 / x1;
  if (y1 == 0 && x2 > 0) return y2 / x2;
  if (y1 == 0 && x2 == 0 && y2 == 0) return 1;
  return 0;
}

}  // namespace

double bezier_ease(double x1, double y1, double x2, double y2, double x) noexcept {
  if (x < 0) return start_slope(x1, y1, x2, y2) * x;
  if (x > 1) return 1 + start_slope(1 - x2, 1 - y2, 1 - x1, 1 - y1) * (x - 1);
  if (x == 0 || x == 1) return x;
  if (x1 == y1 && x2 == y2) return x;
  return UnitCubic(y1, y2).at(parameter(UnitCubic(x1, x2), x));
}

double bezier_slope(double x1, double y1, double x2, double y2, double x) noexcept {
  const UnitCubic bx(x1, x2), by(y1, y2);
  const double t = parameter(bx, std::clamp(x, 0.0, 1.0));
  const double dx = bx.slope(t), dy = by.slope(t);
  // At an end both may vanish; the curve then leaves along its next control point.
  if (dx == 0 && dy == 0) return x <= 0 ? start_slope(x1, y1, x2, y2) : start_slope(1 - x2, 1 - y2, 1 - x1, 1 - y1);
  return dx == 0 ? std::copysign(std::numeric_limits<double>::infinity(), dy) : dy / dx;
}

namespace {

constexpr int kTerms = Shape::kTerms;
using Piece = std::array<double, kTerms>;

// Interpolation at the Chebyshev points of [0, 1]: within a small factor of the best polynomial of the degree. Newton's
// divided differences, then expanded to powers of u, which ten terms on [0, 1] bear with a loss of 1e-12 or so.
Piece fit_piece(const std::array<double, kTerms>& u, std::array<double, kTerms> y) noexcept {
  for (int order = 1; order < kTerms; ++order)
    for (int i = kTerms - 1; i >= order; --i) y[i] = (y[i] - y[i - 1]) / (u[i] - u[i - order]);
  Piece c{};
  for (int i = kTerms - 1; i >= 0; --i) {
    for (int p = kTerms - 1; p > 0; --p) c[p] = c[p - 1] - u[i] * c[p];
    c[0] = y[i] - u[i] * c[0];
  }
  return c;
}

std::array<double, kTerms> chebyshev_points() noexcept {
  std::array<double, kTerms> u{};
  for (int i = 0; i < kTerms; ++i) u[i] = 0.5 - 0.5 * std::cos((2 * i + 1) * std::numbers::pi / (2 * kTerms));
  return u;
}

double range_of(const show::Easing& e) noexcept {
  // The curve stays in the hull of its control points: a bound on the range that needs no search.
  const double low = std::min({0.0, double{e.y1}, double{e.y2}}), high = std::max({1.0, double{e.y1}, double{e.y2}});
  return high - low;
}

}  // namespace

std::optional<Shape> Shape::fit(const show::Easing& e) {
  const auto nodes = chebyshev_points();
  const double allowed = kShapeError * std::max(1.0, std::min(range_of(e), 4.0));
  for (const int count : {1, 2, 3, 4, 5, 6, 8, 12, 16, 24, 32, 64, 128, 256, 512}) {
    Shape shape;
    shape.coefficients_.reserve(static_cast<std::size_t>(count) * kTerms);
    bool good = true;
    for (int piece = 0; piece < count && good; ++piece) {
      std::array<double, kTerms> y{};
      for (int i = 0; i < kTerms; ++i) y[i] = bezier_ease(e, (piece + nodes[i]) / count);
      const Piece c = fit_piece(nodes, y);
      shape.coefficients_.insert(shape.coefficients_.end(), c.begin(), c.end());
      // The error of interpolation peaks between the nodes and at the ends of the piece.
      for (int i = 0; i <= kTerms && good; ++i) {
        const double u = i == 0 ? 0.0 : i == kTerms ? 1.0 : 0.5 * (nodes[i - 1] + nodes[i]);
        const double x = (piece + u) / count;
        good = std::abs(Shape::value(c.data(), u) - bezier_ease(e, x)) <= allowed;
      }
    }
    if (good) return shape;
  }
  return std::nullopt;
}

std::size_t Shapes::hash(const show::Easing& e) noexcept {
  // -0 and 0 are equal easings: adding 0 makes them one.
  const auto bits = [](float a, float b) {
    return std::uint64_t{std::bit_cast<std::uint32_t>(a + 0.0f)} << 32 | std::bit_cast<std::uint32_t>(b + 0.0f);
  };
  const std::uint64_t mixed = (bits(e.x1, e.y1) * 0x9E3779B97F4A7C15u) ^ (bits(e.x2, e.y2) * 0xC2B2AE3D27D4EB4Fu);
  return static_cast<std::size_t>((mixed * 0x9E3779B97F4A7C15u) >> 40);
}

const Shapes::Slot* Shapes::slot_of(const show::Easing& e) const noexcept {
  std::size_t at = hash(e) % slots_.size();
  while (slots_[at].used && !(slots_[at].easing == e)) at = (at + 1) % slots_.size();
  return &slots_[at];
}

void Shapes::add(const show::Channel& channel, const Shapes* fitted) {
  for (const auto& key : channel.keys) {
    if (key.easing.kind != show::Easing::Kind::bezier || is_cubic(key.easing)) continue;
    Slot& slot = slots_[static_cast<std::size_t>(slot_of(key.easing) - slots_.data())];
    if (slot.used) continue;
    if (size_ >= kMost) return;
    slot.easing = key.easing;
    slot.used = true;
    ++size_;
    if (const Slot* known = fitted ? fitted->slot_of(key.easing) : nullptr; known && known->used) slot.shape = known->shape;
    else if (auto shape = Shape::fit(key.easing)) slot.shape = std::make_shared<const Shape>(std::move(*shape));
  }
}

const Shape* Shapes::find(const show::Easing& easing) const noexcept { return slot_of(easing)->shape.get(); }

}  // namespace mien::motion
