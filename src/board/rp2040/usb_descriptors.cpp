#include "board/rp2040/usb_descriptors.hpp"

namespace mien::board::rp2040::usb {
namespace {

enum : std::uint8_t { kDevice = 1, kConfiguration = 2, kString = 3, kInterface = 4, kEndpoint = 5, kClassInterface = 0x24 };
enum : std::uint8_t { kLanguages = 0, kMaker = 1, kProduct = 2, kSerial = 3 };

// 9.6.1. The numbers of maker and product are a pair that anyone may use for what never leaves the house; who gives boards away needs a
// pair of his own.
constexpr std::uint8_t kDeviceDescriptor[] = {
    18, kDevice, 0x00, 0x02,        // USB 2.0
    0x02, 0x00, 0x00,               // a communication device, as a whole
    kPacket, 0x09, 0x12, 0x01, 0x00,
    0x00, 0x01, kMaker, kProduct, kSerial,
    1,                              // configurations
};

constexpr std::uint8_t kConfigurationDescriptor[] = {
    9, kConfiguration, 67, 0, 2, 1, 0, 0x80, 50,          // 9.6.3: 67 bytes, 2 interfaces, number 1; from the bus, 100 mA
    9, kInterface, 0, 0, 1, 0x02, 0x02, 0x00, 0,          // 9.6.5: control; abstract control model
    5, kClassInterface, 0x00, 0x20, 0x01,                 // header: class definitions 1.20
    5, kClassInterface, 0x01, 0x00, 1,                    // call management: none
    4, kClassInterface, 0x02, 0x02,                       // abstract control model: line coding and state
    5, kClassInterface, 0x06, 0, 1,                       // union of interfaces 0 and 1
    7, kEndpoint, 0x80 | kNotice, 0x03, 8, 0, 16,         // 9.6.6: interrupt, 8 bytes, every 16 ms
    9, kInterface, 1, 0, 2, 0x0A, 0x00, 0x00, 0,          // data
    7, kEndpoint, kData, 0x02, kPacket, 0, 0,             // bulk, out
    7, kEndpoint, 0x80 | kData, 0x02, kPacket, 0, 0,      // bulk, in
};
static_assert(sizeof kDeviceDescriptor == 18 && sizeof kConfigurationDescriptor == 67, "as they say themselves");

constexpr std::uint8_t kEnglish[] = {4, kString, 0x09, 0x04};
constexpr std::size_t kLongest = 2 + 2 * 16;
std::uint8_t text[kLongest];

/// 9.6.7: UTF-16.
Text string(const char* letters) noexcept {
  std::size_t size = 2;
  for (; *letters != 0 && size < kLongest; ++letters) {
    text[size++] = static_cast<std::uint8_t>(*letters);
    text[size++] = 0;
  }
  text[0] = static_cast<std::uint8_t>(size), text[1] = kString;
  return {text, size};
}

Text serial(std::uint64_t identity) noexcept {
  char digits[17] = {};
  for (int i = 0; i < 16; ++i) digits[i] = "0123456789ABCDEF"[identity >> (60 - 4 * i) & 15];
  return string(digits);
}

}  // namespace

Text descriptor(std::uint16_t which, std::uint64_t identity) noexcept {
  const unsigned number = which & 0xFFu;
  switch (which >> 8) {
    case kDevice: return {kDeviceDescriptor, sizeof kDeviceDescriptor};
    case kConfiguration: return number == 0 ? Text{kConfigurationDescriptor, sizeof kConfigurationDescriptor} : Text{};
    case kString:
      if (number == kLanguages) return {kEnglish, sizeof kEnglish};
      if (number == kMaker) return string("Mien");
      if (number == kProduct) return string("Mien board");
      if (number == kSerial) return serial(identity);
      return {};
    default: return {};  // one speed only: there is no qualifier (9.6.2)
  }
}

}  // namespace mien::board::rp2040::usb
