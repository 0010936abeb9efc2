// A stage for the head without a window: an OpenGL context on no surface, and the picture as bytes.
#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "editor/head_view.hpp"

namespace mien::editor::test {

struct Image {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgba;  // top row first
  Colour at(int x, int y) const {
    const std::uint8_t* p = &rgba[4 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x))];
    return static_cast<Colour>(p[0]) | static_cast<Colour>(p[1]) << 8 | static_cast<Colour>(p[2]) << 16 | 0xFF000000u;
  }
  /// Pixels of exactly this colour.
  int count(Colour colour) const;
};

/// Makes the context current for as long as it lives. error() says what is missing where it could not.
class HeadStage {
 public:
  explicit HeadStage(int samples = HeadView::kByDriver);
  ~HeadStage();
  const std::string& error() const { return error_; }
  Image draw(const show::FacePose& pose, const Camera& camera, const HeadStyle& style, const show::FacePose* ghost = nullptr,
             int width = 480, int height = 600);
  HeadView& view() { return *view_; }

 private:
  void* display_ = nullptr;
  void* context_ = nullptr;
  std::unique_ptr<HeadView> view_;
  std::string error_;
};

/// Writes build/pictures/NAME.png, for people to look at.
void keep(const Image& image, const std::string& name);

struct Move {
  show::Role role;
  double amount;  // degrees for angle roles, else a share
};
show::FacePose pose(std::initializer_list<Move> moves);

}  // namespace mien::editor::test
