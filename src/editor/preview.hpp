// The head in its panel: the picture, the mouse that turns it, and the three ways to look at it.
#pragma once
#include <memory>
#include <string>

#include "editor/head_view.hpp"
#include "editor/scene.hpp"

namespace mien::editor {

class Preview {
 public:
  /// Wants the window's context current, here and at the end.
  Preview();
  void draw(const Scene& scene, float x, float y, float width, float height);
  const std::string& problem() const noexcept { return problem_; }

 private:
  const HeadStyle& style(const Scene& scene);

  HeadView view_;
  std::shared_ptr<const show::Rig> rig_;  // of style_
  bool dark_ = true;
  HeadStyle style_{};
  Camera camera_ = kThreeQuarterView;
  std::string problem_;
};

}  // namespace mien::editor
