// Package pack turns runs of weather into small blobs and back. Every blob
// carries its kind, the version of its layout and a checksum. Decoding lossless
// blobs of any size that this package wrote works; anything else is an error
// and never a panic. The SQL engines share it, so that a blob can be moved from
// one to another as it is.
package pack

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"

	"github.com/klauspost/compress/zstd"
)

// ErrDamaged is wrapped by the error of every blob that cannot be read.
var ErrDamaged = errors.New("stored data is damaged")

// The kinds of blob.
const (
	kindSeries byte = 'S'
	kindDays   byte = 'D'
	kindBytes  byte = 'B'
	kindRuns   byte = 'E'
)

const (
	version    = 1
	headerSize = 6
	// maxPlain bounds what one blob may unpack to: a damaged or hostile one must
	// not fill the memory.
	maxPlain = 64 << 20
)

var (
	castagnoli = crc32.MakeTable(crc32.Castagnoli)
	encoder    = must(zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedDefault), zstd.WithEncoderCRC(false), zstd.WithEncoderConcurrency(2)))
	decoder    = must(zstd.NewReader(nil, zstd.WithDecoderMaxMemory(maxPlain), zstd.WithDecoderConcurrency(2)))
)

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// seal compresses plain and puts kind, version and checksum before it:
// 1 byte kind, 1 byte version, 4 bytes CRC-32C (little endian) of kind, version
// and plain bytes, then a zstd frame.
func seal(kind byte, plain []byte) []byte {
	out := make([]byte, headerSize, headerSize+len(plain)/2+32)
	out[0], out[1] = kind, version
	binary.LittleEndian.PutUint32(out[2:], sum(kind, version, plain))
	return encoder.EncodeAll(plain, out)
}

// open undoes seal.
func open(kind byte, blob []byte) ([]byte, error) {
	if len(blob) < headerSize {
		return nil, fmt.Errorf("%w: %d bytes are too few", ErrDamaged, len(blob))
	}
	if blob[0] != kind {
		return nil, fmt.Errorf("%w: kind %q where %q belongs", ErrDamaged, blob[0], kind)
	}
	if blob[1] != version {
		return nil, fmt.Errorf("stored data has layout %d; this program reads layout %d. Use the program that wrote it, or a newer one", blob[1], version)
	}
	plain, err := decoder.DecodeAll(blob[headerSize:], nil)
	if err != nil {
		return nil, fmt.Errorf("%w: %v", ErrDamaged, err)
	}
	if binary.LittleEndian.Uint32(blob[2:]) != sum(kind, blob[1], plain) {
		return nil, fmt.Errorf("%w: checksum differs", ErrDamaged)
	}
	return plain, nil
}

func sum(kind, version byte, plain []byte) uint32 {
	return crc32.Update(crc32.Update(0, castagnoli, []byte{kind, version}), castagnoli, plain)
}

// Bytes packs plain bytes, for JSON and messages.
func Bytes(plain []byte) []byte { return seal(kindBytes, plain) }

// OpenBytes unpacks what Bytes packed.
func OpenBytes(blob []byte) ([]byte, error) { return open(kindBytes, blob) }
