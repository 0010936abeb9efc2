// The two functions that the compiler calls by itself; there is no C library below.
#include <cstddef>

extern "C" {

void* memcpy(void* to, const void* from, std::size_t size) {
  auto* t = static_cast<unsigned char*>(to);
  const auto* f = static_cast<const unsigned char*>(from);
  for (; size > 0; --size) *t++ = *f++;
  return to;
}

void* memset(void* to, int value, std::size_t size) {
  auto* t = static_cast<unsigned char*>(to);
  for (; size > 0; --size) *t++ = static_cast<unsigned char>(value);
  return to;
}

}  // extern "C"
