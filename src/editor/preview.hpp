// The head in its panel: the picture, the mouse that turns it, and the three ways to look at it.
#pragma once
#include <memory>
#include <string>

#include "editor/head_view.hpp"
#include "editor/pose_pictures.hpp"
#include "editor/scene.hpp"

namespace mien::editor {

class Preview {
 public:
  /// Wants the window's context current, here and at the end.
  Preview();
  void draw(const Scene& scene, float x, float y, float width, float height);
  /// A small picture of a face, from the front; nothing where it isn't ready yet.
  void draw_face(const Scene& scene, const show::FacePose& face, float x, float y, float width, float height);
  bool pictures_pending() const noexcept { return pictures_pending_; }  ///< whether another frame would draw more of them
  void begin_frame() { pictures_.begin_frame(), pictures_pending_ = false; }
  const std::string& problem() const noexcept { return problem_; }

 private:
  const HeadStyle& style(const Scene& scene);

  HeadView view_;
  PosePictures pictures_{view_};
  bool pictures_pending_ = false;
  std::shared_ptr<const show::Rig> rig_;  // of style_
  bool dark_ = true;
  HeadStyle style_{};
  Camera camera_ = kThreeQuarterView;
  std::string problem_;
};

}  // namespace mien::editor
