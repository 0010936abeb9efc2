#include "editor/head_camera.hpp"

#include <algorithm>
#include <cmath>

#include "editor/head_geometry.hpp"
#include "editor/head_shell.hpp"

namespace mien::editor {
namespace {

constexpr Vec3 kTarget{0, -0.24, 0};
constexpr double kOrbit_deg_px = 0.35, kPitchLimit_deg = 85, kNearest = 3, kFarthest = 20;
constexpr double kHalfHeight = 0.222, kHalfWidth = 0.172;  // of the picture, at distance 1
constexpr double kDesignHeight_px = 600;
constexpr double kNear = 0.5, kFar = 40;

// Half the picture's height at distance 1; a narrow picture shows more above and below instead of cutting the ears.
double half_height(double aspect) { return std::max(kHalfHeight, kHalfWidth / aspect); }

}  // namespace

void orbit(Camera& camera, double dx_px, double dy_px) {
  if (!std::isfinite(dx_px) || !std::isfinite(dy_px)) return;
  camera.yaw_deg = std::remainder(camera.yaw_deg - kOrbit_deg_px * dx_px, 360.0);
  camera.pitch_deg = std::clamp(camera.pitch_deg + kOrbit_deg_px * dy_px, -kPitchLimit_deg, kPitchLimit_deg);
}

void zoom(Camera& camera, double notches) {
  if (!std::isfinite(notches)) return;
  camera.distance = std::clamp(camera.distance * std::pow(0.92, notches), kNearest, kFarthest);
}

Matrix view_matrix(const Camera& camera) {
  const double yaw = radians(camera.yaw_deg), pitch = radians(std::clamp(camera.pitch_deg, -kPitchLimit_deg, kPitchLimit_deg));
  const Vec3 back{std::sin(yaw) * std::cos(pitch), std::sin(pitch), std::cos(yaw) * std::cos(pitch)};
  const Vec3 right{std::cos(yaw), 0, -std::sin(yaw)}, up = cross(back, right);
  const auto f = [](double v) { return static_cast<float>(v); };
  return {f(right.x), f(up.x), f(back.x), 0, f(right.y), f(up.y), f(back.y), 0, f(right.z), f(up.z), f(back.z), 0,
          f(-dot(right, kTarget)), f(-dot(up, kTarget)), f(-dot(back, kTarget) - camera.distance), 1};
}

double magnification(const Camera& camera, int width, int height) {
  const double half = half_height(static_cast<double>(width) / height);
  return height / kDesignHeight_px * kHalfHeight / half * kFrontView.distance / camera.distance;
}

Matrix projection_matrix(double aspect) {
  const double half = half_height(aspect);
  const auto f = [](double v) { return static_cast<float>(v); };
  return {f(1 / (half * aspect)), 0, 0, 0, 0, f(1 / half), 0, 0,
          0, 0, f((kFar + kNear) / (kNear - kFar)), -1, 0, 0, f(2 * kFar * kNear / (kNear - kFar)), 0};
}

}  // namespace mien::editor
