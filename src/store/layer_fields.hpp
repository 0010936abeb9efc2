// Poses, clips and layers in files: lists that follow a show's channels, or that make a library. Inside src/store.
#pragma once
#include <memory>

#include "store/show_fields.hpp"

namespace mien::store {

/// Parts on their way out; keep it until the archive is done with.
class LayersOut {
 public:
  LayersOut(const show::Show& show, TextSink& sink);
  LayersOut(const show::Library& library, TextSink& sink);
  ~LayersOut();
  /// Nothing where there are no such parts.
  void write(cereal::JSONOutputArchive& archive);

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

/// The lists that are there, by what the scan took out of the text.
void read_layers(cereal::JSONInputArchive& archive, Scanned& scanned, show::Show& into);
void read_layers(cereal::JSONInputArchive& archive, Scanned& scanned, show::Library& into);

}  // namespace mien::store
