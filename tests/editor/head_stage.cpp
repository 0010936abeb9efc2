#include "head_stage.hpp"

#include <epoxy/egl.h>
#include <epoxy/gl.h>
#include <stb_image_write.h>

#include <cstdlib>
#include <filesystem>

namespace mien::editor::test {

int Image::count(Colour colour) const {
  int found = 0;
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) found += at(x, y) == colour;
  }
  return found;
}

HeadStage::HeadStage(int samples) {
  // The driver draws on this thread alone: sanitizers can't follow its own ones.
  setenv("LP_NUM_THREADS", "0", 0);
  display_ = eglGetPlatformDisplayEXT(EGL_PLATFORM_SURFACELESS_MESA, EGL_DEFAULT_DISPLAY, nullptr);
  if (!eglInitialize(display_, nullptr, nullptr) || !eglBindAPI(EGL_OPENGL_API)) {
    error_ = "no EGL display without a surface: install Mesa's software renderer (libegl-mesa0, libgl1-mesa-dri)";
    return;
  }
  const EGLint wanted[] = {EGL_CONTEXT_MAJOR_VERSION, 3, EGL_CONTEXT_MINOR_VERSION, 3,
                           EGL_CONTEXT_OPENGL_PROFILE_MASK, EGL_CONTEXT_OPENGL_CORE_PROFILE_BIT, EGL_NONE};
  context_ = eglCreateContext(display_, EGL_NO_CONFIG_KHR, EGL_NO_CONTEXT, wanted);
  if (!context_ || !eglMakeCurrent(display_, EGL_NO_SURFACE, EGL_NO_SURFACE, context_)) {
    error_ = "no OpenGL 3.3 core context without a surface";
    return;
  }
  view_ = std::make_unique<HeadView>();
  view_->init(&error_, samples);
}

HeadStage::~HeadStage() {
  view_.reset();
  if (context_) {
    eglMakeCurrent(display_, EGL_NO_SURFACE, EGL_NO_SURFACE, EGL_NO_CONTEXT);
    eglDestroyContext(display_, context_);
  }
  // The display stays, one for the whole program: unloading the driver would make its memory look lost.
}

Image HeadStage::draw(const show::FacePose& pose, const Camera& camera, const HeadStyle& style, const show::FacePose* ghost,
                  int width, int height) {
  view_->render(pose, ghost, camera, style, width, height);
  const auto row = 4 * static_cast<std::size_t>(width);
  std::vector<std::uint8_t> upward(row * static_cast<std::size_t>(height));
  glBindTexture(GL_TEXTURE_2D, view_->texture());
  glGetTexImage(GL_TEXTURE_2D, 0, GL_RGBA, GL_UNSIGNED_BYTE, upward.data());
  Image image{width, height, {}};
  for (int y = height - 1; y >= 0; --y) {
    const auto first = upward.begin() + static_cast<std::ptrdiff_t>(row * static_cast<std::size_t>(y));
    image.rgba.insert(image.rgba.end(), first, first + static_cast<std::ptrdiff_t>(row));
  }
  return image;
}

void keep(const Image& image, const std::string& name) {
  const auto folder = std::filesystem::path(MIEN_BINARY_DIR) / "pictures";
  std::filesystem::create_directories(folder);
  stbi_write_png((folder / (name + ".png")).c_str(), image.width, image.height, 4, image.rgba.data(), 4 * image.width);
}

show::FacePose pose(std::initializer_list<Move> moves) {
  show::FacePose made;
  for (const Move& m : moves) made[m.role] = {true, show::is_angle(m.role) ? m.amount / 45 : m.amount, show::is_angle(m.role) ? m.amount : 0};
  return made;
}

}  // namespace mien::editor::test
