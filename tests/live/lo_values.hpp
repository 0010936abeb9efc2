// Values as liblo hands them over: at multiples of 4 bytes, which is not where its union may be read.
#pragma once
#include <lo/lo.h>

#include <cstdint>
#include <cstring>

namespace mien::live {

inline float lo_float(const lo_arg* value) {
  float f;
  std::memcpy(&f, static_cast<const void*>(value), sizeof f);
  return f;
}
inline std::int32_t lo_int(const lo_arg* value) {
  std::int32_t i;
  std::memcpy(&i, static_cast<const void*>(value), sizeof i);
  return i;
}
inline const char* lo_text(const lo_arg* value) { return reinterpret_cast<const char*>(value); }

}  // namespace mien::live
