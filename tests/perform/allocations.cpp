#include "allocations.hpp"

#include <cstdlib>
#include <new>

namespace mien::perform::testing {
std::atomic<bool> counting{false};
std::atomic<std::uint64_t> allocations{0};
}  // namespace mien::perform::testing

void* operator new(std::size_t size, const std::nothrow_t&) noexcept {
  if (mien::perform::testing::counting) ++mien::perform::testing::allocations;
  return std::malloc(size ? size : 1);
}
void* operator new(std::size_t size) {
  if (void* memory = operator new(size, std::nothrow)) return memory;
  throw std::bad_alloc();
}
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }
