#include "editor/pose_pictures.hpp"

#include <epoxy/gl.h>

#include <algorithm>

#include "editor/head_gl.hpp"

namespace mien::editor {
namespace {

constexpr int kTile = 160, kAcross = 8, kSide = kTile * kAcross, kMostAFrame = 1;

bool same(const show::FacePose& a, const show::FacePose& b) {
  return std::ranges::equal(a.parts, b.parts, [](const auto& x, const auto& y) { return x.present == y.present && x.share == y.share && x.deg == y.deg; });
}

}  // namespace

PosePictures::~PosePictures() {
  if (texture_) glDeleteTextures(1, &texture_);
  if (reader_) glDeleteFramebuffers(1, &reader_);
}

bool PosePictures::make() {
  if (tried_) return works_;
  tried_ = true;
  if (!view_.init_beside(beside_)) return false;
  texture_ = make_texture(kSide, kSide);
  glGenFramebuffers(1, &reader_);
  return works_ = true;
}

std::optional<PosePictures::Place> PosePictures::find(const show::FacePose& face, const HeadStyle& style) {
  if (!make()) return {};
  auto at = std::find_if(slots_.begin(), slots_.end(), [&](const Slot& s) { return same(s.face, face) && s.style == style; });
  if (at == slots_.end()) {
    if (drawn_now_ >= kMostAFrame) return {};
    ++drawn_now_;
    if (slots_.size() < kAcross * kAcross) at = slots_.insert(slots_.end(), Slot{});
    else at = std::min_element(slots_.begin(), slots_.end(), [](const Slot& a, const Slot& b) { return a.used < b.used; });
    *at = {face, style, 0};
    view_.render(face, nullptr, {0, 2, 6.4}, style, kTile, kTile);
    const auto index = static_cast<int>(at - slots_.begin());
    GLint bound = 0;
    glGetIntegerv(GL_READ_FRAMEBUFFER_BINDING, &bound);
    glBindFramebuffer(GL_READ_FRAMEBUFFER, reader_);
    glFramebufferTexture2D(GL_READ_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, view_.texture(), 0);
    glBindTexture(GL_TEXTURE_2D, texture_);
    glCopyTexSubImage2D(GL_TEXTURE_2D, 0, index % kAcross * kTile, index / kAcross * kTile, 0, 0, kTile, kTile);
    glBindTexture(GL_TEXTURE_2D, 0);
    glBindFramebuffer(GL_READ_FRAMEBUFFER, static_cast<GLuint>(bound));
  }
  at->used = frame_;
  const auto index = static_cast<int>(at - slots_.begin());
  constexpr float kStep = 1.0f / kAcross;
  const int row = index / kAcross, column = index % kAcross;
  const float u = static_cast<float>(column) * kStep, v = static_cast<float>(row) * kStep;
  return Place{u, v, u + kStep, v + kStep};
}

}  // namespace mien::editor
