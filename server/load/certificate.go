package load

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"time"
)

// certificate makes one for this machine, for an hour, and who has to believe in it.
func certificate(folder string) (cert, key string, roots *x509.CertPool, err error) {
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return "", "", nil, err
	}
	text := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "load"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore: time.Now().Add(-time.Minute), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	signed, err := x509.CreateCertificate(rand.Reader, text, text, private.Public(), private)
	if err != nil {
		return "", "", nil, err
	}
	bare, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		return "", "", nil, err
	}
	shown := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: signed})
	roots = x509.NewCertPool()
	roots.AppendCertsFromPEM(shown)
	cert, key = filepath.Join(folder, "cert.pem"), filepath.Join(folder, "key.pem")
	return cert, key, roots, errors.Join(os.WriteFile(cert, shown, 0o600), os.WriteFile(key, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: bare}), 0o600))
}
