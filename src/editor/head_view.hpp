// The head on screen: draws a pose into a texture, with hidden lines removed, from wherever the mouse has put the viewer.
#pragma once
#include <memory>
#include <string>

#include "editor/head_style.hpp"
#include "show/roles.hpp"

namespace mien::editor {

/// Where the viewer stands, on a sphere round the head.
struct Camera {
  double yaw_deg = 0;    ///< toward the head's own left
  double pitch_deg = 0;  ///< up
  double distance = 7.5; ///< in units of which the head is 2.4 high
  friend bool operator==(const Camera&, const Camera&) = default;
};
inline constexpr Camera kFrontView{0, 3, 7.5}, kThreeQuarterView{34, 8, 7.5}, kSideView{90, 2, 7.5};

/// Turns the head as if the mouse held its nose: a drag to the right (dx > 0, in design pixels) turns it to the right.
/// Pitch stops short of the poles. NaN changes nothing.
void orbit(Camera& camera, double dx_px, double dy_px);
/// One notch of the wheel is 1; positive comes closer, within bounds. NaN changes nothing.
void zoom(Camera& camera, double notches);

/// Owns the GL objects; every call wants the same current OpenGL 3.3 core context, the destructor too (or init() not called).
class HeadView {
 public:
  HeadView();
  ~HeadView();
  HeadView(const HeadView&) = delete;
  HeadView& operator=(const HeadView&) = delete;

  static constexpr int kByDriver = -1;
  /// False when the context can't do it; `why` then says what and what to do. render() does nothing in that case.
  /// samples per pixel smooth the edges of surfaces (lines are smooth by themselves): by driver means 4, and 1 where the
  /// driver draws with the processor, which would take three times as long.
  bool init(std::string* why, int samples = kByDriver);
  /// Another view in the same context, drawn as the other one: nothing is compiled again. False where that one was not made.
  bool init_beside(const HeadView& other);
  /// Draws into texture(): `pose` solid and, when given, `ghost` as thin lines over it. width and height are in pixels;
  /// below 1 nothing happens, above what the context allows they are reduced. Nothing is drawn again when all is as in the
  /// last call. Leaves the bound framebuffer and viewport as they were, with blending, depth test and culling off.
  void render(const show::FacePose& pose, const show::FacePose* ghost, const Camera& camera, const HeadStyle& style,
              int width, int height);
  /// The GL name of an RGBA texture as large as the last render(), bottom row first; 0 before the first.
  unsigned texture() const;

 private:
  struct Programs;
  struct Gl;
  std::unique_ptr<Gl> gl_;
};

}  // namespace mien::editor
