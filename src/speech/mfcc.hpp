// Mel-frequency cepstra: what two voices that say the same have in common.
#pragma once
#include <array>
#include <cmath>
#include <span>
#include <vector>

#include "speech/recording.hpp"

namespace mien::speech {

inline constexpr int kCepstra = 13;
using Cepstrum = std::array<float, kCepstra>;

/// In-place radix-2 transform of 2^n complex numbers, forward, unscaled: X[k] = sum x[j] exp(-2 pi i j k / N). The size must be a power of two.
void fourier(std::span<double> real, std::span<double> imaginary);

/// The mel scale.
inline double mel(double hz) noexcept { return 2595 * std::log10(1 + hz / 700); }

/// A frame each kFrame_s: 25.6 ms, pre-emphasis 0.97, Hamming window, 512-point power spectrum, 26 triangular filters from 130 to 6800 Hz evenly spaced
/// on the mel scale, natural logarithm, DCT-II (orthonormal), coefficients 0..12. (Davis & Mermelstein 1980.)
std::vector<Cepstrum> mfcc(const Recording& recording);
/// Each coefficient with mean 0 and variance 1 over the recording.
void normalise(std::vector<Cepstrum>& cepstra);

/// Dynamic time warping (Sakoe & Chiba 1978, symmetric steps, Euclidean distance): for each frame of `a` the frame of `b` that it goes with, never
/// falling. Empty where either is. Both ends meet.
std::vector<int> warp(std::span<const Cepstrum> a, std::span<const Cepstrum> b);

}  // namespace mien::speech
