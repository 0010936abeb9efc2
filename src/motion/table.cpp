#include "motion/table.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>
#include <string>

namespace mien::motion {

// The root of a monotone cubic on [0, h]: Newton, kept within a shrinking bracket. 60 halvings are as far as doubles go.
double Table::solve(const Piece& c, double h, double y) noexcept {
  const bool rising = c.value(h) > c.c0;
  double low = 0, high = h, u = h * (y - c.c0) / (c.value(h) - c.c0);
  for (int k = 0; k < 60; ++k) {
    const double off = c.value(u) - y;
    if (off == 0) break;
    ((off > 0) == rising ? high : low) = u;
    const double newton = u - off / c.slope(u);
    if (std::abs(newton - u) <= 1e-15 * h) break;
    u = newton > low && newton < high ? newton : 0.5 * (low + high);
  }
  return u;
}

Table::Table(std::span<const double> x, std::span<const double> y)
    : x_(x.begin(), x.end()), y_(y.begin(), y.end()), slope_(x.size()) {
  const std::size_t n = x_.size();
  if (n < 2) return;
  const auto spacing = [&](std::size_t k) { return x_[k + 1] - x_[k]; };
  slope_.front() = straight(0);
  slope_.back() = straight(n - 2);
  for (std::size_t k = 1; k + 1 < n; ++k) {
    const double left = straight(k - 1), right = straight(k);
    if (left * right <= 0) continue;
    const double w_left = 2 * spacing(k) + spacing(k - 1), w_right = spacing(k) + 2 * spacing(k - 1);
    slope_[k] = (w_left + w_right) / (w_left / left + w_right / right);
  }
  compile();
}

Table::Table(std::span<const double> x, std::span<const double> y, std::span<const double> slope)
    : x_(x.begin(), x.end()), y_(y.begin(), y.end()), slope_(slope.begin(), slope.end()) {
  const std::size_t n = x_.size();
  if (n < 2) return;
  for (std::size_t k = 0; k < n; ++k) {
    const double left = straight(k > 0 ? k - 1 : 0), right = straight(k + 1 < n ? k : n - 2);
    const double most = 3 * std::min(std::abs(left), std::abs(right));
    const double along = std::copysign(1, left) * slope_[k];
    slope_[k] = std::copysign(along > 0 ? std::min(along, most) : along == along ? 0 : most, left);
  }
  compile();
}

void Table::compile() {
  const std::size_t count = x_.size() - 1, shares = 2 * count;
  for (std::size_t k = 0; k < count; ++k) {
    const double h = x_[k + 1] - x_[k], secant = straight(k), m0 = slope_[k], m1 = slope_[k + 1];
    pieces_.push_back({x_[k], y_[k], m0, (3 * secant - 2 * m0 - m1) / h, (m0 + m1 - 2 * secant) / (h * h)});
  }
  shares_per_x_ = static_cast<double>(shares) / (x_.back() - x_.front());
  std::size_t k = 0;
  for (std::size_t share = 0; share < shares; ++share) {
    while (k + 1 < count && x_[k + 1] <= x_.front() + static_cast<double>(share) / shares_per_x_) ++k;
    begins_.push_back(static_cast<std::int32_t>(k));
  }
}

// Precondition: x within the rows.
const Table::Piece& Table::piece(double x) const noexcept {
  const auto share = static_cast<std::size_t>((x - x_.front()) * shares_per_x_);
  auto k = static_cast<std::size_t>(begins_[std::min(share, begins_.size() - 1)]);
  // The pieces' own x0, as x_ lies in other cache lines.
  while (k > 0 && x < pieces_[k].x0) --k;  // by rounding, at the border of a share
  while (k + 1 < pieces_.size() && x >= pieces_[k + 1].x0) ++k;
  return pieces_[k];
}

double Table::value(double x) const noexcept {
  if (x_.empty()) return 0;
  if (!(x > x_.front())) return y_.front();
  if (x >= x_.back()) return y_.back();
  const Piece& p = piece(x);
  return p.value(x - p.x0);
}

double Table::beyond(double x) const noexcept {
  if (x_.size() < 2) return y_.empty() ? 0 : y_.front();
  if (!(x >= x_.front())) return y_.front() + slope_.front() * (x - x_.front());
  if (x > x_.back()) return y_.back() + slope_.back() * (x - x_.back());
  const Piece& p = piece(x);
  return p.value(x - p.x0);
}

double Table::slope(double x) const noexcept {
  if (x_.size() < 2 || !(x >= x_.front() && x <= x_.back())) return 0;
  const Piece& p = piece(x);
  return p.slope(x - p.x0);
}

Solved Table::inverse(double y) const noexcept {
  if (x_.empty()) return {0, false};
  const bool rising = y_.back() > y_.front();
  const auto beyond = [&](double a, double b) { return rising ? a > b : a < b; };
  if (!beyond(y, y_.front())) return {x_.front(), y == y_.front()};
  if (!beyond(y_.back(), y)) return {x_.back(), y == y_.back()};
  const auto after = std::upper_bound(y_.begin() + 1, y_.end() - 1, y, [&](double a, double b) { return beyond(b, a); });
  const std::size_t k = static_cast<std::size_t>(after - y_.begin()) - 1;
  const double h = x_[k + 1] - x_[k];
  return {x_[k] + solve(pieces_[k], h, y), true};
}

show::Findings check(std::span<const double> x, std::span<const double> y) {
  const auto error = [](auto&&... parts) {
    std::ostringstream text;
    (text << ... << parts);
    return show::Finding{show::Severity::error, "", "", text.str(), "Measure again, or leave the row out"};
  };
  show::Findings findings;
  if (x.size() != y.size()) return {error("the table has ", x.size(), " values of x and ", y.size(), " of y")};
  if (x.size() < 2) return {error("the table has ", x.size(), x.size() == 1 ? " row" : " rows", "; at least 2 are needed")};
  for (std::size_t k = 0; k < x.size(); ++k)
    if (!std::isfinite(x[k]) || !std::isfinite(y[k]))
      findings.push_back(error("row ", k + 1, " holds something that is no number"));
  if (!findings.empty()) return findings;
  for (std::size_t k = 1; k < x.size(); ++k)
    if (!(x[k] > x[k - 1]))
      findings.push_back(error("x does not rise from row ", k, " (", x[k - 1], ") to row ", k + 1, " (", x[k], ")"));
  const bool rising = y.back() > y.front();
  for (std::size_t k = 1; k < y.size(); ++k) {
    if (y[k] == y[k - 1])
      findings.push_back(error("y stands still from row ", k, " to row ", k + 1, " (", y[k], "), so no x can be found for it"));
    else if ((y[k] > y[k - 1]) != rising)
      findings.push_back(error("y turns back from row ", k, " (", y[k - 1], ") to row ", k + 1, " (", y[k], ")"));
  }
  return findings;
}

}  // namespace mien::motion
