// Small pictures of faces, each drawn once by the preview's own pen and kept on one texture.
#pragma once
#include <optional>
#include <vector>

#include "editor/head_view.hpp"

namespace mien::editor {

/// Wants the window's context current in every call, the destructor too.
class PosePictures {
 public:
  /// `beside`: the view that is drawn alike, and outlives this one.
  explicit PosePictures(const HeadView& beside) : beside_(beside) {}
  ~PosePictures();
  PosePictures(const PosePictures&) = delete;
  PosePictures& operator=(const PosePictures&) = delete;

  /// Where on texture() the picture of a face is: corners in its coordinates, bottom row first. Nothing where it isn't drawn yet (a few are drawn a
  /// frame), or the context can't.
  struct Place { float u0, v0, u1, v1; };
  std::optional<Place> find(const show::FacePose& face, const HeadStyle& style);
  unsigned texture() const noexcept { return texture_; }
  void begin_frame() noexcept { drawn_now_ = 0, ++frame_; }

 private:
  struct Slot { show::FacePose face; HeadStyle style; unsigned long used = 0; };
  bool make();

  const HeadView& beside_;
  HeadView view_;
  bool tried_ = false, works_ = false;
  unsigned texture_ = 0, reader_ = 0;
  int drawn_now_ = 0;
  unsigned long frame_ = 0;
  std::vector<Slot> slots_;
};

}  // namespace mien::editor
